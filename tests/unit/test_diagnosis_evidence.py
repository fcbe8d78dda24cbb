"""Readings as evidence: touches are gathered, then weighed at one go."""

from __future__ import annotations

import pytest
from diagnosis_cases import (
    LATE,
    chance,
    fit,
    healthy,
    log_odds,
    probe,
    refit,
    refresh,
    remaining,
    small_board,
    small_case,
    work,
)

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, OverRange, Reading
from nextprobe.circuit import predict
from nextprobe.diagnosis import Move, Probe
from nextprobe.diagnosis.acts import DONOR, FAILED
from nextprobe.diagnosis.evidence import gather

GOOD = 0.660
LEAKY = 0.250


def gathered(*moves: Move):  # type: ignore[no-untyped-def]
    expectations = small_case(board=True).model.expectations
    assert expectations is not None
    return gather(moves, expectations)


def after(*moves: Move) -> float:
    """Return the chance of the leak that a low reading at J1.1 points to."""
    return chance(small_case(moves, board=True), "leaky:D1")


def test_a_low_reading_points_to_the_leak_and_a_good_one_away_from_it() -> None:
    before = after()
    assert after(probe("J1.1", LEAKY)) > 20 * before
    assert after(probe("J1.1", GOOD)) < 0.6 * before


def test_touches_that_agree_are_one_reading_touched_several_times() -> None:
    whole = gathered(probe("J1.1", 0.250), probe("J1.2", 0.6), probe("J1.1", 0.252))
    assert set(whole) == {0, 1}
    assert whole[0].touches == 2
    assert whole[0].value == pytest.approx(0.251)
    assert whole[1].touches == 1


def test_two_values_of_one_touch_are_not_two_touches() -> None:
    whole = gathered(probe("J1.1", 0.250, touch="a"), probe("J1.1", 0.251, touch="a"))
    assert whole[0].touches == 1


def test_repeated_touches_sharpen_against_slips_only() -> None:
    once, twice, often = (after(*[probe("J1.1", LEAKY)] * count) for count in (1, 2, 20))
    assert once < twice <= often
    assert often - twice < 0.5 * (twice - once)


def test_a_touch_that_is_repeated_is_not_a_fresh_draw_of_the_board() -> None:
    slightly_low = GOOD - 0.06
    plain = chance(small_case(board=True), f"module-bad:{LATE}")
    moved = [
        log_odds(chance(small_case([probe("J1.1", slightly_low)] * count, board=True),
                        f"module-bad:{LATE}")) - log_odds(plain)
        for count in (1, 10)
    ]  # fmt: skip
    assert abs(moved[1] - moved[0]) < 0.05


def test_most_touches_decide_whatever_their_order() -> None:
    two_to_one = [probe("J1.1", LEAKY), probe("J1.1", LEAKY), probe("J1.1", OVER_RANGE)]
    found = [after(*(two_to_one[i] for i in order)) for order in ((0, 1, 2), (0, 2, 1), (2, 0, 1))]
    assert found[1] == pytest.approx(found[0], abs=1e-9)
    assert found[2] == pytest.approx(found[0], abs=1e-9)
    assert found[0] > after(probe("J1.1", LEAKY)) * 0.99


def test_a_known_good_board_moves_the_expectation_and_is_no_evidence_by_itself() -> None:
    case = small_case([probe("J1.1", 0.6, device=DONOR)], board=True)
    assert healthy(case, "J1.1") == pytest.approx(0.6)
    assert chance(case, "leaky:D1") == pytest.approx(after(), rel=1e-9)


def test_readings_of_a_known_good_board_count_before_and_after_those_of_the_patient() -> None:
    donor, patient = probe("J1.1", 0.75, device=DONOR), probe("J1.1", 0.66)
    assert after(donor, patient) == pytest.approx(after(patient, donor), abs=1e-12)


def test_over_range_is_a_state_and_no_large_number() -> None:
    """A diode drop between two and three volts is no neighbour of an open line."""
    opened = small_case([probe("J1.1", OVER_RANGE)] * 2, board=True)
    assert chance(opened, "joint-open:J1.1") > 20 * chance(
        small_case(board=True), "joint-open:J1.1"
    )
    numbers = small_case([probe("J1.1", 1.99)] * 2, board=True)
    assert chance(numbers, "joint-open:J1.1") < chance(opened, "joint-open:J1.1") / 10


def test_where_over_range_is_healthy_it_clears() -> None:
    assert healthy(small_case(board=True), "J1.3") is OVER_RANGE
    shorted = chance(small_case(board=True), "short:C3")
    assert chance(small_case([probe("J1.3", OVER_RANGE)], board=True), "short:C3") < shorted / 5
    number = predict_shorted()
    assert chance(small_case([probe("J1.3", number)] * 2, board=True), "short:C3") > 20 * shorted


def predict_shorted() -> float | OverRange:
    case = small_case(board=True)
    expectations = case.model.expectations
    assert expectations is not None
    fault = next(item.fault for item in case.model.listed if item.fault.key == "short:C3")
    meter = expectations.meter.range_for(MeterMode.DIODE)
    return predict(small_board(), BenchSetup(), meter, "J1.3", fault)


@pytest.mark.parametrize("point", ["J1.99", "J9.1", "NO_SUCH_NET"])
@pytest.mark.parametrize("value", [0.3, OVER_RANGE])
def test_a_reading_at_an_unknown_place_changes_nothing(
    point: str, value: float | OverRange
) -> None:
    case = small_case([probe(point, value)], board=True)
    assert {s.key: s.probability for s in case.suspects()} == pytest.approx(
        {s.key: s.probability for s in small_case(board=True).suspects()}, abs=1e-12
    )
    assert case.recommend(0).cost > 0.0


def test_a_reading_without_a_board_or_a_value_changes_nothing() -> None:
    for case in (
        small_case([probe("J1.1", 0.3)]),
        small_case([Move(Probe("J1.1"), "", None)], board=True),
    ):
        plain = small_case(board=case.brief.board is not None)
        assert chance(case, f"module-bad:{LATE}") == pytest.approx(
            chance(plain, f"module-bad:{LATE}"), abs=1e-12
        )


def test_a_known_good_reading_at_an_unknown_place_changes_nothing() -> None:
    case = small_case([probe("J1.99", 0.3, device=DONOR)], board=True)
    assert case.references == {}


def test_readings_in_another_set_up_are_kept_apart() -> None:
    low_ohms = Reading("J1.1", 120.0, BenchSetup(MeterMode.LOW_OHMS))
    whole = gathered(probe("J1.1", 0.66), Move(Probe("J1.1"), "", low_ohms))
    assert [item.touches for item in whole.values()] == [1, 1]


# After work: what was read before is still there unless it was cured.


def test_work_ends_a_group_and_the_next_one_knows_the_one_before() -> None:
    whole = gathered(probe("J1.1", LEAKY), work("protection replace", "D1"), probe("J1.1", GOOD))
    assert whole[2].before == whole[0]
    assert (whole[0].change, whole[2].change) == (0, 1)


def test_a_reading_repeated_after_work_elsewhere_changes_little() -> None:
    read = [probe("J1.1", LEAKY)] * 2
    elsewhere = work("small passive", "FB1")
    before = after(*read, elsewhere)
    again = after(*read, elsewhere, *read)
    assert abs(log_odds(again) - log_odds(before)) < 0.2


def test_a_reading_that_turns_good_by_work_tells_that_this_was_it() -> None:
    read = [probe("J1.1", LEAKY)] * 2
    mended = [*read, work("protection replace", "D1"), *[probe("J1.1", GOOD)] * 2]
    assert after(*mended) > after(*read)
    case = small_case(mended, board=True)
    (suspect,) = [s for s in case.suspects() if s.key == "leaky:D1"]
    assert suspect.remaining < 0.05 * suspect.probability


def test_a_reading_that_stays_low_after_work_tells_that_it_was_not_mended() -> None:
    read = [probe("J1.1", LEAKY)] * 2
    stays = small_case([*read, work("protection replace", "D1"), *read], board=True)
    mended = small_case([*read, work("protection replace", "D1")], board=True)
    assert remaining(stays) > remaining(mended)


@pytest.mark.parametrize("place", [0, 1, 2])
def test_a_refresh_that_failed_has_changed_nothing_that_is_read(place: int) -> None:
    """It speaks for the firmware, but as much against a leak as against a bad module."""
    mended = [probe("J1.1", LEAKY), work("protection replace", "D1"), probe("J1.1", GOOD)]
    moves = [*mended[:place], refresh(FAILED), *mended[place:]]
    odds = [
        chance(case, "leaky:D1") / chance(case, f"module-bad:{LATE}")
        for case in (small_case(mended, board=True), small_case(moves, board=True))
    ]
    assert odds[1] == pytest.approx(odds[0], rel=1e-9)


def test_plugging_a_module_does_not_make_a_reading_fresh_proof() -> None:
    read = [probe("J1.1", LEAKY)] * 2
    before = after(*read, fit(), refit())
    assert abs(log_odds(after(*read, fit(), refit(), *read)) - log_odds(before)) < 0.2
