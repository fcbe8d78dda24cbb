"""A reading sharpens what is predicted of its siblings, as far as no fault explains it."""

from __future__ import annotations

import numpy as np
import pytest

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, OverRange, Reading
from nextprobe.diagnosis import Case, Expectation, Move, Probe
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.sharpening import as_now, sharpened
from nextprobe.diagnosis.situation import READ_AS
from nextprobe.job.shelf import shelf_from

DIODE = BenchSetup(MeterMode.DIODE)
LANES = ("IMG_L0N", "IMG_L0P", "IMG_L1N", "IMG_L1P")
USUAL = 0.450


def case_after(*readings: tuple[str, float | OverRange]) -> Case:
    """Return a case of the demo pack, without readings of good boards, after some readings."""
    shelf, _ = shelf_from("courier-handheld")
    whole = shelf.case("imaging")
    moves = [Move(Probe(net), reading=Reading(net, value, DIODE)) for net, value in readings]
    return whole.after(*moves)


def now(case: Case, net: str) -> Expectation:
    expectations = case.model.expectations
    assert expectations is not None
    rows = active_sets(case.model, case.situation.ensemble)
    return as_now(expectations.at(net, DIODE), case.situation, rows)


def test_before_any_reading_nothing_is_sharpened() -> None:
    case = case_after()
    assert case.situation.deviating is None
    assert now(case, LANES[1]).spread == pytest.approx(0.28 * 0.450, abs=0.002)


def test_one_lane_sharpens_its_siblings_and_moves_them_to_where_it_reads() -> None:
    found = now(case_after((LANES[0], 0.490)), LANES[2])
    assert found.mean[-1] == pytest.approx(0.490, abs=0.008)
    assert found.spread < 0.4 * 0.28 * 0.450


def test_two_lanes_sharpen_the_third_further() -> None:
    once = now(case_after((LANES[0], 0.490)), LANES[2])
    twice = now(case_after((LANES[0], 0.490), (LANES[1], 0.487)), LANES[2])
    assert twice.spread < once.spread


def test_another_chip_s_pins_stay_as_they_were() -> None:
    usual = now(case_after(), "IMG_L0N_J")
    found = now(case_after((LANES[0], 0.490)), "IMG_L0N_J")
    assert found.spread == pytest.approx(usual.spread, rel=0.02)


def test_a_short_says_nothing_of_the_siblings() -> None:
    usual, found = now(case_after(), LANES[2]), now(case_after((LANES[0], 0.001)), LANES[2])
    assert found.spread == pytest.approx(usual.spread, rel=0.05)
    assert found.mean[-1] == pytest.approx(usual.mean[-1], abs=0.005)


def test_a_lane_unlike_its_siblings_is_stranger_than_one_alone() -> None:
    """0.40 V alone may be how this chip is; among siblings of 0.49 V it is not."""

    def healthy_share(case: Case) -> float:
        sets = case.model.sets
        rows = active_sets(case.model, case.situation.ensemble)
        expectations = case.model.expectations
        assert expectations is not None
        usual = expectations.at(LANES[3], DIODE)
        unmoved = ~usual.differs(np.arange(len(sets) + 1), np.full(len(sets) + 1, len(sets)))
        return float(case.situation.ensemble.probabilities[unmoved[rows]].sum())

    alone = case_after((LANES[3], 0.40))
    among = case_after(*((net, 0.490) for net in LANES[:3]), (LANES[3], 0.40))
    assert healthy_share(among) < 0.9 * healthy_share(alone)


def test_the_order_of_readings_makes_hardly_a_difference() -> None:
    readings = [(LANES[0], 0.490), (LANES[1], 0.487), (LANES[2], OVER_RANGE), (LANES[3], 0.30)]
    one, other = case_after(*readings), case_after(*reversed(readings))
    chances = [{s.key: s.probability for s in case.suspects()} for case in (one, other)]
    assert chances[0] == pytest.approx(chances[1], abs=1e-3)


def test_chances_of_the_rows_are_those_of_the_worlds() -> None:
    case = case_after((LANES[0], 0.490), (LANES[1], 0.30))
    expectations = case.model.expectations
    assert expectations is not None
    rows = active_sets(case.model, case.situation.ensemble)
    found = sharpened(expectations.at(LANES[2], DIODE), case.situation, rows)
    assert found is not None
    assert found.chances(case.situation.ensemble).sum() == pytest.approx(1.0)
    assert case.situation.ensemble.columns[READ_AS].max() + 1 == case.situation.deviating.groups  # type: ignore[union-attr]


def test_other_modes_share_nothing() -> None:
    expectations = case_after().model.expectations
    assert expectations is not None
    assert not expectations.at(LANES[0], BenchSetup(MeterMode.OHMS)).common.any()
