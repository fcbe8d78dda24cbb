"""Readings as evidence: touches are gathered, then weighed at one go."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    chance,
    fit,
    healthy,
    log_odds,
    pannier,
    probe,
    refit,
    refresh,
    remaining,
    small_board,
    small_case,
    work,
)
from scipy.integrate import quad
from scipy.stats import norm

from nextprobe.board import OVER_RANGE, BenchSetup, Meter, MeterMode, OverRange, Reading
from nextprobe.circuit import predict
from nextprobe.diagnosis import Expectation, Move, Probe
from nextprobe.diagnosis.acts import DONOR, FAILED
from nextprobe.diagnosis.evidence import (
    Gathered,
    _again,
    _log_mixed,
    _log_repeated,
    _log_spared,
    gather,
)
from nextprobe.diagnosis.suspects import explanations
from nextprobe.packs.schema import Pack

GOOD = 0.660
# What some 200 ohm at D1 make of it.
LEAKY = 0.200
DIODE = Meter().range_for(MeterMode.DIODE)
CLEANING = work("ultrasonic", "J1")
OTHER_PINS = ("J1.2", "J1.4", "J1.5", "J1.6")


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


# A reading that comes again, as a density.


@pytest.mark.parametrize("before", [0.004, 0.25, 0.66, 1.9])
def test_a_repeat_has_the_density_of_a_difference_of_two_readings(before: float) -> None:
    """Two readings of one value differ by a normal error of u√2 (JCGM 100:2008, 5.1.2)."""
    error = np.hypot(*[DIODE.standard_uncertainty(before)] * 2)
    for value in before + error * np.array([-2.0, 0.0, 0.5, 3.0]):
        found = _log_repeated(float(value), before, DIODE)
        assert found == pytest.approx(norm.logpdf(value, before, error))
    mass, _ = quad(
        lambda value: np.exp(_log_repeated(value, before, DIODE)),
        before - 8.0 * error,
        before + 8.0 * error,
        points=[before],
    )
    assert mass == pytest.approx(1.0, abs=1e-6)


def test_over_range_that_comes_again_is_certain() -> None:
    assert _log_repeated(OVER_RANGE, OVER_RANGE, DIODE) == 0.0


def seen(value: float | OverRange, before: Gathered | None = None) -> Gathered:
    return Gathered("J1.1", value, BenchSetup(), 2, 0 if before is None else 1, before)


def test_a_repeat_where_nothing_changed_beats_the_same_reading_by_chance() -> None:
    """Cured, and something else reads the same: no density of a fresh reading is as high."""
    expectations = small_case(board=True).model.expectations
    assert expectations is not None
    found = expectations.at("J1.1", BenchSetup())
    keys = [item.fault.key for item in expectations.listed]
    again = _again(found, seen(LEAKY, seen(LEAKY)), seen(LEAKY), expectations)
    fresh = found.log_likelihood(LEAKY, 2)
    for row in map(keys.index, ("leaky:D1@330", "liquid-residue:J1@0.15", "unlisted:scanner@0.1")):
        # A leak of a known size says more of a fresh reading than anything else does.
        assert again[row] > fresh.max() + np.log(15.0)


def test_a_reading_that_differs_where_nothing_changed_loses_against_a_cure() -> None:
    expectations = small_case(board=True).model.expectations
    assert expectations is not None
    found = expectations.at("J1.1", BenchSetup())
    row = [item.fault.key for item in expectations.listed].index("leaky:D1@330")
    again = _again(found, seen(GOOD, seen(LEAKY)), seen(LEAKY), expectations)
    assert again[row] < found.log_likelihood(GOOD, 2)[-1] - np.log(100.0)


def well_known() -> Pack:
    """Return the small device with chips whose clamps are known to 80 mV."""
    return pannier(readings={"model": 0.08})


def test_a_low_reading_that_stays_after_cleaning_was_not_mended_by_it() -> None:
    read = [probe("J1.1", LEAKY)] * 3
    stays = small_case([*read, CLEANING, *read], board=True, pack=well_known())
    (residue,) = [s for s in stays.suspects() if s.key == "liquid-residue:J1"]
    assert residue.remaining > 0.99 * residue.probability
    before = small_case(read, board=True, pack=well_known())
    assert chance(stays, "leaky:D1") > 2.0 * chance(before, "leaky:D1")


@pytest.mark.parametrize("share", [0.05, 0.5])
@pytest.mark.parametrize("before", [0.25, 0.55, 0.6])
def test_a_cured_fault_without_a_model_may_have_spared_the_reading(
    share: float, before: float
) -> None:
    """Both readings by enumerating whether the fault had disturbed the first (total probability).

    If it had, the second is a fresh one of a good board. If not, both are of one value with two
    errors of the meter: the second has the conditional density of a bivariate normal
    (elementary), here 5 % wide since the inference takes the first reading for the value.
    """
    rows, spread = 2, 0.08
    disturbed = np.zeros((3, rows))
    disturbed[1, 0] = share
    found = Expectation(
        np.full(rows, 0.6),
        np.full(rows, spread),
        np.zeros((2, rows)),
        np.zeros(rows),
        np.zeros(rows, dtype=bool),
        disturbed,
        DIODE,
        1e-9,
        "by hand",
    )
    expectations = small_case(board=True).model.expectations
    assert expectations is not None
    good = norm.pdf(before, 0.6, spread)
    lowered = 1.0 / 0.6 if before <= 0.6 else 0.0
    for value in (before, before + 0.001):
        meter = DIODE.standard_uncertainty(before)
        alike = 1.0 - (meter / spread) ** 2
        repeat = norm.pdf(value, 0.6 + alike * (before - 0.6), spread * np.sqrt(1.0 - alike**2))
        fresh = norm.pdf(value, 0.6, spread)
        both = (1.0 - share) * good * repeat + share * lowered * fresh
        wanted = both / ((1.0 - share) * good + share * lowered)
        was, now = np.array([0]), np.array([1])
        spared = _log_spared(found, seen(before), was, now)
        again = _again(found, seen(value, seen(before)), seen(before), expectations)[now]
        mixed = _log_mixed(spared, again, found.log_likelihood(value, 2)[now])
        assert np.exp(mixed[0]) == pytest.approx(wanted, rel=0.05)


def good_pins() -> list[Move]:
    plain = small_case(board=True)
    return [probe(point, healthy(plain, point)) for point in OTHER_PINS for _ in range(2)]


def test_pins_that_read_good_before_and_after_cleaning_hardly_speak_against_it() -> None:
    read = [*[probe("J1.1", LEAKY)] * 3, *good_pins()]
    cleaned = small_case([*read, CLEANING], board=True, pack=well_known())
    again = small_case([*read, CLEANING, *good_pins()], board=True, pack=well_known())
    assert chance(again, "liquid-residue:J1") > 0.8 * chance(cleaned, "liquid-residue:J1")
    assert remaining(again) < 1.3 * remaining(cleaned)


def test_a_second_fault_may_read_on_after_the_first_is_cleaned_off() -> None:
    read = [*[probe("J1.1", LEAKY)] * 3, *good_pins()]
    pair = ("liquid-residue:J1", "leaky:D1")
    found = []
    for moves in (read, [*read, CLEANING, *[probe("J1.1", LEAKY)] * 3]):
        case = small_case(moves, board=True, history=("liquid",))
        sets = {frozenset(s.keys): s.probability for s in explanations(case.model, case.situation)}
        found.append(sets[frozenset(pair)])
    assert found[1] > 1.5 * found[0]


def test_without_slips_a_reading_that_comes_again_leaves_the_beliefs_sound() -> None:
    """Worlds that the first reading has ruled out stay so."""
    sure = pannier(readings={"slip": 0.0})
    assert healthy(small_case(board=True), "J1.3") is OVER_RANGE
    read = [probe("J1.3", 0.3)]
    once = small_case(read, board=True, pack=sure)
    case = small_case([*read, work("small passive", "FB1"), *read], board=True, pack=sure)
    assert np.isfinite(case.situation.ensemble.probabilities).all()
    assert chance(case, "joint-open:J1.3") == chance(once, "joint-open:J1.3") == 0.0
    assert chance(case, "liquid-residue:J1") == pytest.approx(chance(once, "liquid-residue:J1"))
