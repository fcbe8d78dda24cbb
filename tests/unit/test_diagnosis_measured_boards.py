"""What boards that were measured one by one make of the expected reading."""

from __future__ import annotations

import math

import numpy as np
import pytest
from diagnosis_cases import candidate_of, pannier, probe, small_case

from nextprobe.board import OVER_RANGE, BenchSetup, Meter, MeterMode, OverRange, Reading
from nextprobe.circuit import junction_share
from nextprobe.diagnosis import Case, Expectation, Reference
from nextprobe.diagnosis.acts import DONOR, Probe
from nextprobe.diagnosis.acts import Move as Made
from nextprobe.packs.known_good import KnownGood
from nextprobe.reference import MeasuredSpread, SpreadPrior, predictive
from nextprobe.workbench.pinout_json import known_good_from_json, known_good_to_json

POINT = "J1.1"
VALUES = [0.641, 0.652, 0.649, 0.655]
PRIOR = SpreadPrior(deviation=0.015)


def spread(values: list[float], prior: SpreadPrior = PRIOR) -> MeasuredSpread:
    found = predictive(values, prior)
    weight = prior.boards + len(values)
    return MeasuredSpread(len(values), found.scale / math.sqrt(1.0 + 1.0 / weight), found.degrees)


def kept(values: list[float], mode: MeterMode = MeterMode.DIODE) -> dict:
    mean = sum(values) / len(values)
    reference = Reference(mean, len(values), f"{len(values)} boards kept here", spread(values))
    return {(POINT, mode): reference}


def at(case: Case, mode: MeterMode = MeterMode.DIODE, point: str = POINT) -> Expectation:
    assert case.model.expectations is not None
    return case.model.expectations.at(point, BenchSetup(mode))


def donor(value: float | OverRange, setup: BenchSetup | None = None) -> Made:
    setup = setup or BenchSetup()
    act = Probe(POINT, DONOR, setup.mode, setup.clamped)
    return Made(act, "", Reading(POINT, value, setup))


def test_three_boards_or_more_give_the_predictive_deviation() -> None:
    found = at(small_case(board=True, references=kept(VALUES)))
    meter = Meter().range_for(MeterMode.DIODE).standard_uncertainty(float(found.mean[-1]))
    assert found.healthy == pytest.approx(np.mean(VALUES))
    assert found.spread == pytest.approx(predictive(VALUES, PRIOR, meter).deviation, rel=1e-9)
    assert found.source == "4 boards kept here"


@pytest.mark.parametrize("number", [1, 2])
def test_fewer_boards_leave_the_spread_to_the_pack(number: int) -> None:
    values = VALUES[:number]
    told = at(small_case(board=True, references=kept(values)))
    plain = {(POINT, MeterMode.DIODE): Reference(float(np.mean(values)), number, "told")}
    assert told.spread == at(small_case(board=True, references=plain)).spread


@pytest.mark.parametrize("mode", [MeterMode.DIODE, MeterMode.OHMS])
def test_the_measured_spread_shrinks_with_the_reading_down_to_the_floor(mode: MeterMode) -> None:
    computed = float(at(small_case(board=True), mode).mean[-1])
    values = [computed * share for share in (0.99, 1.0, 1.01, 1.0)]
    prior = SpreadPrior(deviation=0.03 * computed)
    reference = Reference(computed, 4, "4 boards", spread(values, prior))
    case = small_case(board=True, references={(POINT, mode): reference})
    found, meter = at(case, mode), Meter().range_for(mode)
    expected = predictive(values, prior, meter.standard_uncertainty(computed))
    assert found.spread == pytest.approx(expected.deviation, rel=1e-9)
    index = case.model.listed.index(candidate_of(case, "short:D1"))
    assert found.mean[index] < 0.05 * computed
    floor = 0.0 if mode is MeterMode.DIODE else pannier().readings.modes["ohms"].floor
    in_proportion = found.mean[index] / computed
    shorted = float(junction_share(computed, found.mean[index : index + 1])[0])
    kept = shorted if mode is MeterMode.DIODE else in_proportion
    inherited = max(floor, predictive(values, prior).deviation * kept)
    shift = 0.1 * (found.mean[index] - computed) * found.mean[index] / computed
    noise = meter.standard_uncertainty(float(found.mean[index]))
    assert found.deviation[index] == pytest.approx(math.hypot(inherited, shift, noise), rel=1e-6)


def test_a_donor_in_the_job_is_one_more_of_the_boards_measured_before() -> None:
    case = small_case(board=True, references=kept(VALUES)).after(donor(0.66))
    found = at(case)
    meter = Meter().range_for(MeterMode.DIODE).standard_uncertainty(float(found.mean[-1]))
    expected = predictive([*VALUES, 0.66], PRIOR, meter)
    assert found.healthy == pytest.approx(expected.mean)
    assert found.spread == pytest.approx(expected.deviation, rel=1e-9)
    assert found.source == "donor board in this job, 4 boards kept here"


def test_touching_the_donor_twice_is_not_two_boards() -> None:
    once = small_case(board=True, references=kept(VALUES)).after(donor(0.66))
    twice = once.after(donor(0.66))
    assert at(twice).spread == at(once).spread
    assert case_reference(twice) == case_reference(once)


def case_reference(case: Case) -> Reference:
    return case.references[POINT, MeterMode.DIODE]


def test_a_donor_in_another_set_up_is_not_one_of_them() -> None:
    setup = BenchSetup(plugged=frozenset({"x"}))
    case = small_case(board=True, references=kept(VALUES)).after(donor(0.66, setup))
    assert case_reference(case) == Reference(0.66, 1, "donor board in this job")


def test_a_reading_between_two_pins_of_a_donor_says_nothing_of_either_to_ground() -> None:
    before = small_case(board=True, references=kept(VALUES))
    after = before.after(donor(0.13, BenchSetup(clamped="J1.2")))
    assert case_reference(after) == case_reference(before)


def test_a_donor_in_another_state_stands_alone_as_before() -> None:
    case = small_case(board=True, references=kept(VALUES)).after(donor(OVER_RANGE))
    assert case_reference(case) == Reference(OVER_RANGE, 1, "donor board in this job")


def test_beside_readings_of_the_pack_alone_a_donor_stands_alone_as_before() -> None:
    plain = {(POINT, MeterMode.DIODE): Reference(0.65, 5, "pack")}
    case = small_case(board=True, references=plain).after(donor(0.66))
    assert case_reference(case) == Reference(0.66, 1, "donor board in this job")


def test_readings_of_the_patient_are_no_known_good_board() -> None:
    case = small_case(board=True, references=kept(VALUES))
    assert case_reference(case.after(probe(POINT, 0.3))) == case_reference(case)


def test_known_good_rows_come_back_from_json_and_look_as_ever_without_a_spread() -> None:
    old = KnownGood("J1.1", MeterMode.DIODE, 0.65, 2, "pack", 3)
    new = KnownGood("J1.2", MeterMode.DIODE, 0.65, 4, "kept", None, spread(VALUES))
    written = known_good_to_json((old, new))
    assert known_good_from_json(written) == (old, new)  # type: ignore[arg-type]
    assert isinstance(written, list)
    assert list(written[0]) == ["point", "mode", "value", "boards", "source", "line"]
