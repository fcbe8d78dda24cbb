"""Weighted possible worlds."""

import math

import numpy as np
import pytest

from nextprobe.belief import Ensemble, Hypothesis
from nextprobe.belief.ensemble import log_sum
from nextprobe.errors import MisuseError


def three_worlds() -> Ensemble:
    return Ensemble(np.log([0.5, 0.3, 0.2]), {"hypothesis": np.array([0, 1, 2])})


def test_bayes_rule_by_hand():
    belief = three_worlds().condition(np.log([0.1, 0.4, 0.4]))
    assert belief.probabilities == pytest.approx([0.2, 0.48, 0.32])
    assert belief.log_evidence == pytest.approx(math.log(0.25))


def test_evidence_of_probability_1e_minus_380_is_weighed():
    tiny = -380.0 * math.log(10.0)
    belief = three_worlds().condition([tiny, tiny + math.log(2.0), -math.inf])
    assert belief.probabilities == pytest.approx([0.5 / 1.1, 0.6 / 1.1, 0.0], rel=1e-12)
    assert belief.normalised.log_evidence == pytest.approx(0.0, abs=1e-12)
    assert belief.merged().marginal("hypothesis", 3) == pytest.approx([0.5 / 1.1, 0.6 / 1.1, 0.0])


def test_conditioning_leaves_the_old_belief_alone():
    belief = three_worlds()
    belief.condition([-math.inf, 0.0, 0.0])
    assert belief.probabilities == pytest.approx([0.5, 0.3, 0.2])
    with pytest.raises(ValueError, match="read-only"):
        belief.log_weights[0] = 0.0


def test_split_by_world_drops_impossible_rows():
    belief = three_worlds().split("active", [0, 1], [[0.0, 1.0], [0.25, 0.75], [1.0, 0.0]])
    assert len(belief) == 4
    assert belief.marginal("active") == pytest.approx([0.3 * 0.25 + 0.2, 0.5 + 0.3 * 0.75])
    assert belief.marginal("hypothesis") == pytest.approx([0.5, 0.3, 0.2])


def test_split_replaces_a_column():
    belief = three_worlds().assign("donor", 7).split("donor", [0, 1], [0.9, 0.1])
    assert belief.marginal("donor") == pytest.approx([0.9, 0.1])


@pytest.mark.parametrize("chances", [[0.5, 0.6], [1.5, -0.5]])
def test_split_refuses_what_is_no_distribution(chances):
    with pytest.raises(MisuseError, match="sum to one"):
        three_worlds().split("active", [0, 1], chances)


def test_merging_undoes_a_split():
    belief = three_worlds().split("active", [0, 1], [0.3, 0.7]).without("active")
    assert len(belief) == 3
    assert belief.marginal("hypothesis") == pytest.approx([0.5, 0.3, 0.2])


def test_merging_keeps_groups_that_are_hundreds_of_nats_apart():
    weights = np.array([0.0, -900.0, -900.0])
    belief = Ensemble(weights, {"hypothesis": np.array([0, 1, 1])}).merged()
    assert belief.log_weights == pytest.approx([0.0, -900.0 + math.log(2.0)])


def test_merging_many_wide_columns_does_not_confuse_worlds():
    codes = np.array([0, 2**40, 0, 2**40])
    columns = {str(i): np.roll(codes, i % 2) for i in range(4)}
    belief = Ensemble(np.zeros(4), columns).merged()
    assert len(belief) == 2
    assert belief.probabilities == pytest.approx([0.5, 0.5])


def test_pruning_accounts_for_what_it_drops():
    belief = three_worlds().pruned(0.75)
    assert belief.columns["hypothesis"].tolist() == [0, 1]
    assert math.exp(belief.log_omitted) == pytest.approx(0.2)
    assert belief.omitted_share == pytest.approx(0.2)


def test_the_bound_on_omitted_worlds_follows_the_evidence():
    belief = three_worlds().pruned(0.75).condition(np.log([0.1, 0.1]))
    assert belief.omitted_share == pytest.approx(0.2 / 0.28)
    assert belief.normalised.omitted_share == pytest.approx(belief.omitted_share)
    density = three_worlds().pruned(0.75).condition([0.0, 0.0], log_best=math.log(3.0))
    assert math.exp(density.log_omitted) == pytest.approx(0.6)


def test_impossible_evidence_is_said_and_not_divided_by():
    belief = three_worlds().condition([-math.inf] * 3)
    assert belief.log_evidence == -math.inf
    assert belief.omitted_share == 1.0
    assert len(belief.merged()) == 0
    with pytest.raises(MisuseError, match="no world"):
        _ = belief.probabilities


def test_shapes_are_checked():
    with pytest.raises(MisuseError):
        Ensemble(np.zeros(2), {"hypothesis": np.zeros(3, dtype=np.intp)})
    with pytest.raises(MisuseError):
        Ensemble(np.array([math.nan]), {})
    with pytest.raises(MisuseError):
        three_worlds().condition([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0]])
    with pytest.raises(MisuseError):
        three_worlds().pruned(0.0)


def test_expectation_and_empty_sum():
    assert three_worlds().expectation([1.0, 2.0, 3.0]) == pytest.approx(1.7)
    assert log_sum(np.array([])) == -math.inf


def test_hypotheses_are_sets_with_a_prior():
    both = Hypothesis(frozenset({"b", "a"}), -1.0)
    assert both.label == "a + b"
    assert Hypothesis(frozenset(), 0.0).label == "nothing wrong"
    with pytest.raises(MisuseError):
        Hypothesis(frozenset(), 0.1)
