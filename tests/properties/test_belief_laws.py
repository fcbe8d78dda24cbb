"""Laws that every belief obeys."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.belief import Ensemble, interval_probabilities
from nextprobe.belief.ensemble import log_sum

untimed = settings(deadline=None)

logs = st.floats(-900.0, 0.0)


@st.composite
def beliefs(draw):
    rows = draw(st.integers(1, 12))
    weights = draw(st.lists(logs, min_size=rows, max_size=rows))
    codes = st.lists(st.integers(0, 3), min_size=rows, max_size=rows)
    return Ensemble(np.array(weights), {"a": np.array(draw(codes)), "b": np.array(draw(codes))})


@st.composite
def beliefs_with_evidence(draw):
    belief = draw(beliefs())
    rows = st.lists(logs, min_size=len(belief), max_size=len(belief))
    return belief, draw(st.lists(rows, min_size=1, max_size=5)), draw(st.randoms())


@untimed
@given(beliefs_with_evidence())
def test_posterior_sums_to_one_and_order_is_irrelevant(case):
    belief, items, random = case
    shuffled = random.sample(items, len(items))
    one, other = belief, belief
    for item, another in zip(items, shuffled, strict=True):
        one, other = one.condition(item), other.condition(another)
    assert one.probabilities.sum() == pytest.approx(1.0, abs=1e-12)
    assert one.probabilities == pytest.approx(other.probabilities, abs=1e-9)
    assert one.log_evidence == pytest.approx(other.log_evidence, abs=1e-9)


@untimed
@given(beliefs_with_evidence())
def test_merging_before_or_after_makes_no_difference(case):
    belief, items, _ = case
    by_code = np.array(items[0])[belief.columns["a"] % len(items[0])]
    merged = belief.merged()
    again = np.array(items[0])[merged.columns["a"] % len(items[0])]
    one, other = belief.condition(by_code).merged(), merged.condition(again)
    assert one.marginal("a", 4) == pytest.approx(other.marginal("a", 4), abs=1e-9)
    assert merged.log_evidence == pytest.approx(belief.log_evidence, abs=1e-9)
    keys = list(zip(merged.columns["a"], merged.columns["b"], strict=True))
    assert len(set(keys)) == len(keys)


@untimed
@given(beliefs(), st.floats(0.01, 1.0))
def test_pruning_keeps_what_it_promises(belief, share):
    kept = belief.pruned(share)
    assert log_sum(kept.log_weights) >= belief.log_evidence + np.log(share) - 1e-9
    whole = np.logaddexp(kept.log_evidence, kept.log_omitted)
    assert whole == pytest.approx(belief.log_evidence, abs=1e-9)


@untimed
@given(beliefs(), st.floats(0.0, 1.0))
def test_splitting_keeps_every_other_marginal(belief, chance):
    split = belief.split("c", [0, 1], [chance, 1.0 - chance])
    assert split.marginal("a", 4) == pytest.approx(belief.marginal("a", 4), abs=1e-9)
    assert split.marginal("c", 2) == pytest.approx([chance, 1.0 - chance], abs=1e-9)


@untimed
@given(
    st.floats(-1.0, 4.0),
    st.floats(1e-4, 1.0),
    st.booleans(),
    st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
    st.lists(st.floats(0.01, 2.9), min_size=0, max_size=6, unique=True),
)
def test_intervals_sum_to_one(mean, deviation, over, slips, inner):
    chances = interval_probabilities(
        [0.0, *sorted(inner), 3.0],
        mean,
        deviation,
        over,
        limit=2.0,
        slip_probability=slips[0],
        slip_over_probability=slips[1],
    )
    assert chances.sum() == pytest.approx(1.0, abs=1e-12)
    assert (chances >= 0.0).all()
