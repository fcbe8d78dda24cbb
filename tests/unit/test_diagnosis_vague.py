"""Faults without a circuit model: their sizes, and what they do to readings near them."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import chance, healthy, probe, small_case, work

from nextprobe.board import OVER_RANGE, BenchSetup, Fault, FaultKind
from nextprobe.diagnosis import Case, Move
from nextprobe.diagnosis.vague import (
    ANYTHING,
    LOWERED,
    RAISED,
    bins,
    disturbing,
    log_densities,
    several,
    sizes,
)

FULL = 2.0
LOW = [probe("J1.1", 0.25)] * 3


def test_sizes_are_shares_of_readings_and_other_faults_have_none() -> None:
    for kind in (FaultKind.UNLISTED, FaultKind.RESIDUE, FaultKind.OPEN, FaultKind.SHORT):
        found = sizes(kind, "J1")
        shares = [-1.0 if fault.magnitude is None else fault.magnitude for fault in found]
        assert len(found) > 1
        assert shares == sorted(set(shares))
        assert all(0.0 <= share <= 0.5 for share in shares)
        assert {fault.family for fault in found} == {found[0].family}
    assert sizes(FaultKind.CHIP_DEAD, "U1") == (Fault(FaultKind.CHIP_DEAD, "U1"),)


def test_each_kind_disturbs_in_its_own_way() -> None:
    faults = [
        Fault(FaultKind.UNLISTED, "scanner", 0.1),
        Fault(FaultKind.RESIDUE, "J1", 0.2),
        Fault(FaultKind.OPEN, "?passive open/scanner", 0.3),
        Fault(FaultKind.SHORT, "?passive short/scanner", 0.4),
        Fault(FaultKind.SEATING, "J1"),
    ]
    expected = np.zeros((3, 6))
    expected[ANYTHING, 0] = 0.1
    expected[LOWERED, [1, 3]] = 0.2, 0.4
    expected[RAISED, 2] = 0.3
    np.testing.assert_array_equal(disturbing(faults, [False] * 5), expected)


def test_what_the_circuit_says_is_not_vague_as_well() -> None:
    faults = [Fault(FaultKind.OPEN, "FB1", 0.1), Fault(FaultKind.SHORT, "C4")]
    assert (disturbing(faults, [True, True]) == 0.0).all()


def test_directions() -> None:
    low, high = (log_densities(value, 0.6, FULL) for value in (0.2, 1.4))
    assert np.isfinite(low).tolist() == [True, True, False]
    assert np.isfinite(high).tolist() == [True, False, True]
    over = log_densities(OVER_RANGE, 0.6, FULL)
    assert np.isfinite(over).tolist() == [True, False, True]


def test_nothing_is_raised_above_over_range() -> None:
    assert log_densities(OVER_RANGE, OVER_RANGE, FULL)[RAISED] == 0.0
    assert log_densities(1.9, OVER_RANGE, FULL)[RAISED] == -np.inf
    assert np.isfinite(log_densities(1.9, OVER_RANGE, FULL)[LOWERED])


def test_a_meter_that_shows_a_little_less_than_nothing_shows_a_short() -> None:
    """Meters show a few counts below zero about a short (common practice, no published source)."""
    below, zero = (log_densities(value, 0.6, FULL) for value in (-0.002, 0.0))
    np.testing.assert_array_equal(below, zero)
    assert np.isfinite(below[[ANYTHING, LOWERED]]).all()


def test_two_readings_below_zero_that_differ_leave_some_fault_possible() -> None:
    moves = [probe("J1.1", -0.3), work("clean", "J1"), probe("J1.1", -0.1)]
    case = small_case(moves, board=True)
    assert np.isfinite(case.situation.ensemble.probabilities).all()


def test_outer_intervals_take_what_lies_beyond_them() -> None:
    """As those of interval_probabilities, with which these are mixed."""
    narrow, wide = bins((0.2, 0.5, 1.5), 0.6, FULL), bins((0.0, 0.5, FULL), 0.6, FULL)
    np.testing.assert_allclose(narrow, wide)


def test_one_of_two_that_disturb_independently() -> None:
    """P(A or B) = 1 - (1 - P(A)) (1 - P(B)) for independent events (elementary)."""
    alone = np.zeros((3, 3))
    alone[LOWERED, 0], alone[ANYTHING, 1] = 0.5, 0.1
    both, one = several(alone, np.array([[0, 1], [0, 2]])).T
    assert both.sum() == pytest.approx(1.0 - 0.5 * 0.9)
    assert both[LOWERED] / both[ANYTHING] == pytest.approx(5.0)
    np.testing.assert_allclose(one, [0.0, 0.5, 0.0])


# What follows in a job.


def good(*points: str) -> list[Move]:
    plain = small_case(board=True)
    return [probe(point, healthy(plain, point)) for point in points for _ in range(2)]


def by_size(case: Case, family: str) -> list[float]:
    """Return the chance of each size of a fault, smallest first."""
    chances = case.situation.ensemble.marginal("hypothesis", len(case.model.sets))
    listed = [item.fault for item in case.model.listed]
    return [float(chances[row]) for row, fault in enumerate(listed) if fault.family == family]


def test_many_disturbed_readings_speak_for_a_large_size_and_good_ones_for_a_small() -> None:
    dirty = small_case([*LOW, *[probe("J1.2", 0.3)] * 3, *[probe("J1.4", 0.1)] * 3], board=True)
    clean = small_case(good("J1.1", "J1.2", "J1.4", "J1.5", "J1.6"), board=True)
    assert by_size(dirty, "liquid-residue:J1") == sorted(by_size(dirty, "liquid-residue:J1"))
    falling = by_size(clean, "liquid-residue:J1")
    assert falling == sorted(falling, reverse=True)
    assert chance(dirty, "liquid-residue:J1") > 0.9


def test_good_readings_never_rule_out_a_fault_that_disturbs_next_to_none() -> None:
    """By Bayes' theorem the factor of a size is at least the chance that it disturbs no reading."""
    points = ("J1.1", "J1.2", "J1.4", "J1.5", "J1.6")
    before, after = small_case(board=True), small_case(good(*points), board=True)
    for family in ("liquid-residue:J1", "unlisted:scanner"):
        moved = by_size(after, family)[0] / by_size(before, family)[0]
        assert moved > 0.97 ** len(points)


def test_one_low_pin_among_good_ones_speaks_less_for_residue_and_more_for_the_part() -> None:
    alone = small_case(LOW, board=True)
    among = small_case([*LOW, *good("J1.2", "J1.3", "J1.4", "J1.5", "J1.6")], board=True)
    for rival in ("liquid-residue:J1", "unlisted:scanner"):
        odds = [chance(case, "leaky:D1") / chance(case, rival) for case in (alone, among)]
        assert odds[1] > 2.0 * odds[0]


def test_a_raised_reading_does_not_speak_for_residue() -> None:
    raised = small_case([probe("J1.1", 1.5)] * 3, board=True)
    plain = small_case(board=True)
    assert chance(raised, "liquid-residue:J1") < 0.5 * chance(plain, "liquid-residue:J1")
    assert chance(raised, "open:?passive open/scanner") > 5.0 * chance(
        plain, "open:?passive open/scanner"
    )


def test_bins_are_mixed_in_with_the_chance_of_being_disturbed() -> None:
    expectations = small_case(board=True).model.expectations
    assert expectations is not None
    found = expectations.at("J1.1", BenchSetup())
    row = [item.fault.key for item in expectations.listed].index("liquid-residue:J1@0.5")
    edges = (0.0, 0.1, 0.5, 0.8, FULL)
    shares = found.bins(edges)
    lowered = bins(edges, found.healthy, FULL)[LOWERED]
    np.testing.assert_allclose(shares[row], 0.5 * shares[-1] + 0.5 * lowered, atol=1e-12)
