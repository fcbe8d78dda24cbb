"""What sets of several faults may hold that are not listed: the bound holds, and says when not."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from diagnosis_cases import TABLES, fails, look, pannier, probe, small_board, work

from nextprobe.board import OVER_RANGE
from nextprobe.diagnosis import Brief, Case, Move
from nextprobe.diagnosis.choosing import _weighed
from nextprobe.diagnosis.replay import in_order, replay, started
from nextprobe.diagnosis.set_estimate import SetEstimate
from nextprobe.diagnosis.situation import HYPOTHESIS
from nextprobe.planning import Limits
from nextprobe.workbench.remarks import remarks

SEEN = [look("look at J1", "dirt or residue"), look("liquid indicator", "changed colour")]
CLEANED = [*SEEN, work("ultrasonic", "J1"), fails()]


def wet(moves: list[Move], largest: int = 2, *, board: bool = False) -> Case:
    known = small_board() if board else None
    brief = Brief(pannier(), "scanner", known, ("liquid",), Limits(), largest_set=largest)
    return Case(brief, tuple(moves), TABLES)


def every_pair_weighed(case: Case) -> float:
    """Return what the pairs hold that are not listed, all pairs being weighed exactly."""
    alone = case._alone
    together = alone.together
    assert together is not None
    space = alone.space
    pairs = [
        pair
        for pair in combinations(range(len(alone.listed)), 2)
        if space.compatible(np.array(pair[:1]), np.array(pair[1:]))[0]
    ]
    whole = alone.with_sets(pairs, together.priors(np.array(pairs)))
    last = replay(whole, case.moves)[-1].ensemble
    chances = last.marginal(HYPOTHESIS, len(whole.sets))[len(alone.listed) :]
    listed = set(case.chosen.sets)
    left = [chance for pair, chance in zip(pairs, chances, strict=True) if pair not in listed]
    return float(sum(left))


@pytest.mark.parametrize("moves", [[], SEEN, CLEANED])
def test_the_bound_is_above_what_all_other_pairs_hold(moves: list[Move]) -> None:
    case = wet(moves)
    _, bound = case.unlisted_sets
    assert every_pair_weighed(case) <= bound + 1e-12


@pytest.mark.parametrize("moves", [SEEN, CLEANED])
def test_the_estimate_is_of_the_size_of_what_they_hold(moves: list[Move]) -> None:
    case = wet(moves)
    estimate, _ = case.unlisted_sets
    assert 0.0 <= estimate <= 3.0 * every_pair_weighed(case) + 0.05


READ = [*CLEANED, probe("J1.1", 0.3), probe("J1.2", 0.45)]


@pytest.mark.parametrize("moves", [SEEN, CLEANED, READ])
def test_sets_weigh_apart_from_single_faults_what_they_weigh_beside_them(moves: list[Move]) -> None:
    alone = wet([], board=True)._alone
    assert alone.together is not None
    ordered = in_order(moves)
    estimate = SetEstimate(started(alone).with_moves(ordered))
    tried, chances = _weighed(estimate, alone, ordered, estimate.best(2, 50)[0])
    whole = alone.with_sets(tried, alone.together.priors(np.array(tried)))
    last = replay(whole, ordered)[-1].ensemble
    beside = last.marginal(HYPOTHESIS, len(whole.sets))[len(alone.listed) :]
    assert beside.sum() > 1e-4
    np.testing.assert_allclose(chances, beside, rtol=1e-3, atol=1e-6)


def test_readings_soon_make_the_bound_say_nothing() -> None:
    read = [probe(f"J1.{pin}", OVER_RANGE if pin == 3 else 0.3) for pin in (1, 2, 3)]
    bounds = [wet([*SEEN, *read[:count]], 3, board=True).unlisted_sets[1] for count in range(4)]
    assert bounds == sorted(bounds)
    assert bounds[-1] > 0.5


def test_who_thinks_of_one_fault_only_leaves_nothing_out() -> None:
    assert wet(CLEANED, 1).unlisted_sets == (0.0, 0.0)


def test_a_job_with_several_faults_says_what_is_not_listed() -> None:
    case = wet(CLEANED, 3, board=True)
    assert case.chosen.sets
    [remark] = [item for item in remarks(case) if item.kind == "several faults"]
    estimate, bound = case.unlisted_sets
    assert remark.numbers == {"estimate": estimate, "bound": bound}
    assert ("bound says nothing" in remark.text) == (bound > 0.5)


def test_the_ceiling_on_the_prior_is_above_the_prior_of_all_pairs_and_triples() -> None:
    together = wet([])._alone.together
    assert together is not None
    few = replace(together, shares=together.shares[:, :9], rows=())
    pairs = np.array(list(combinations(range(9), 2)))
    triples = np.array(list(combinations(range(9), 3)))
    total = few.priors(pairs).sum() + few.priors(triples).sum()
    assert 0.0 < total <= few.ceiling


def test_all_pairs_at_once_are_scored_as_each_pair_alone() -> None:
    read = [probe("J1.1", 0.3), probe("J1.2", OVER_RANGE)]
    case = wet([*CLEANED, *read], board=True)
    replayed = case._in_order
    estimate = SetEstimate(replayed)
    alone = estimate._scores(estimate._pairs)
    np.testing.assert_allclose(estimate._pair_scores, alone, rtol=1e-12, atol=1e-12)


def test_a_longer_replay_goes_on_where_the_shorter_one_ended() -> None:
    case = wet(CLEANED)
    longer = case.after(look("liquid indicator", "changed colour"))
    assert all(
        a is b for a, b in zip(case._in_order.trail[:1], longer._in_order.trail, strict=False)
    )
    again = wet([*CLEANED, look("liquid indicator", "changed colour")])
    for live, replayed in zip(longer.trail, again.trail, strict=True):
        np.testing.assert_allclose(
            live[1].ensemble.log_weights, replayed[1].ensemble.log_weights, rtol=1e-12
        )
