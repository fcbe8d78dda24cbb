"""Every kind of step: what it moves, what it costs, what to beware of, how it is recorded."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    TABLES,
    chance,
    demo_case,
    fails,
    offered,
    option_ids,
    small_board,
    small_case,
)
from step_pack import rich

from nextprobe import Job
from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, OverRange, Reading, fault_from_key
from nextprobe.diagnosis import Case, Gauge, Move, Probe, Refresh, Work
from nextprobe.diagnosis.acts import FAILED
from nextprobe.diagnosis.ids import place_and_mode, reading_id
from nextprobe.diagnosis.measuring import measurement_from_id, measurement_of
from nextprobe.diagnosis.repairs import cures_of
from nextprobe.errors import DataError, MisuseError
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.ready import candidate_for
from nextprobe.trials.truth import draw_truth
from nextprobe.workbench.outcomes import outcome_of


def rich_case() -> Case:
    return small_case(pack=rich(), board=True)


def measured(case: Case, name: str, value: float | OverRange) -> Case:
    return case.after(*outcome_of(case, name, value).moves)


@pytest.mark.parametrize(
    ("name", "point", "clamped", "mode"),
    [
        ("probe:J1.4", "J1.4", "GND", MeterMode.DIODE),
        ("probe:J1.5:ohms", "J1.5", "GND", MeterMode.OHMS),
        ("probe:C1:capacitance", "C1.2", "C1.1", MeterMode.CAPACITANCE),
        ("probe:FB1:low-ohms", "FB1.2", "FB1.1", MeterMode.LOW_OHMS),
        ("probe:J1.3~C3.1:continuity", "J1.3", "C3.1", MeterMode.CONTINUITY),
        ("probe:SC_VDD12:volts", "SC_VDD12", "GND", MeterMode.DC_VOLTS),
    ],
)
def test_an_id_means_one_measurement(name: str, point: str, clamped: str, mode: MeterMode) -> None:
    item = measurement_from_id(name, small_board())
    assert (item.point, item.setup.clamped, item.setup.mode) == (point, clamped, mode)
    assert item.id == name == reading_id(point, mode, clamped)
    assert place_and_mode(name) == (item.place, mode)


def test_a_part_that_hangs_on_ground_is_measured_against_it() -> None:
    item = measurement_of("C4", MeterMode.CAPACITANCE, small_board())
    assert (item.point, item.setup.clamped) == ("C4.1", "GND")


@pytest.mark.parametrize(
    ("name", "value", "key"),
    [
        ("probe:C1:capacitance", 0.0, "open:C1"),
        ("probe:FB1:low-ohms", 6.0, "high-resistance:FB1"),
        ("probe:FB1:low-ohms", OVER_RANGE, "open:FB1"),
        ("probe:J1.3~C3.1:continuity", OVER_RANGE, "joint-open:J1.3"),
        ("probe:SC_VDD12:volts", 0.0, "no-output:U2"),
        ("probe:J1.5:ohms", 900.0, "leaky:C4"),
    ],
)
def test_a_reading_moves_the_fault_that_it_shows(
    name: str, value: float | OverRange, key: str
) -> None:
    case = rich_case()
    after = measured(case, name, value)
    assert chance(after, key) > 3.0 * chance(case, key)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("probe:C1:capacitance", "open:C1"),
        ("probe:FB1:low-ohms", "high-resistance:FB1"),
        ("probe:SC_VDD12:volts", "no-output:U2"),
    ],
)
def test_a_good_reading_clears_it(name: str, key: str) -> None:
    case = rich_case()
    assert case.model.expectations is not None
    item = case.problem.probing.measured(name)
    good = case.model.expectations.at(item.point, item.setup).healthy
    assert chance(measured(case, name, good), key) < 0.3 * chance(case, key)


def test_an_open_series_capacitor_is_invisible_in_diode_mode() -> None:
    expectations = rich_case().model.expectations
    assert expectations is not None
    found = expectations.at("J1.1", BenchSetup())
    row = [item.fault.key for item in expectations.listed].index("open:C1")
    assert found.mean[row] == pytest.approx(found.mean[-1], abs=1e-6)


def test_a_dead_chip_shows_on_live_rails_only() -> None:
    case = rich_case()
    expectations = case.model.expectations
    assert expectations is not None
    row = [item.fault.key for item in expectations.listed].index("no-output:U2")
    live = expectations.at("SC_VDD12", BenchSetup(MeterMode.DC_VOLTS))
    dead = expectations.at("J1.5", BenchSetup())
    assert live.mean[row] == pytest.approx(0.0)
    assert live.healthy == pytest.approx(1.2, rel=0.01)
    assert dead.mean[row] == dead.healthy


def test_a_rail_without_known_volts_is_kept_and_not_weighed() -> None:
    case = rich_case()
    outcome = outcome_of(case, "probe:SC_IO:volts", 1.8)
    assert "not weighed" in outcome.findings[0].what
    after = case.after(*outcome.moves)
    assert chance(after, "no-output:U2") == pytest.approx(chance(case, "no-output:U2"))


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("probe:C1:capacitance", "discharge"),
        ("probe:FB1:low-ohms", "under power"),
        ("probe:SC_VDD12:volts", "short a rail"),
    ],
)
def test_the_cautions_of_a_measurement(name: str, word: str) -> None:
    probing = rich_case().problem.probing
    assert word in " ".join(probing._reading(name).cautions).lower()


def test_the_meter_and_the_power_are_set_once() -> None:
    case = rich_case()
    probing = case.problem.probing
    first = probing.cost(case.situation, "probe:FB1:low-ohms")
    after = measured(case, "probe:FB1:low-ohms", 0.05)
    assert after.situation.configuration.meter == "low ohms"
    again = probing.cost(after.situation, "probe:FB2:low-ohms")
    opening = probing.cost(after.situation, "probe:J1.1")
    assert again.attended < opening.attended < first.attended
    live = measured(after, "probe:SC_VDD12:volts", 1.2)
    assert live.situation.configuration.powered
    assert not measured(live, "probe:FB2:low-ohms", 0.05).situation.configuration.powered


def test_single_measurements_stay_few() -> None:
    case = rich_case()
    assert len(option_ids(case, "reading")) <= 9
    further = [name for name in option_ids(case, "run") if name.count(":") == 2]
    assert len(further) <= 4


def test_the_supply_current_finds_the_region() -> None:
    case = small_case(pack=rich(), board=True, complaint="sound")
    assert {"current:before-key", "current:after-key"} <= set(option_ids(case, "current"))
    leak = case.after(Move(Gauge("before key"), "0.0038"))
    assert chance(leak, "leaky:C6") > 2.0 * chance(case, "leaky:C6")
    fine = case.after(Move(Gauge("before key"), "0.0004"))
    assert chance(fine, "short:C6") < 0.3 * chance(case, "short:C6")
    assert "current:before-key" not in option_ids(fine, "current")


def test_the_cautions_of_feeding_a_board() -> None:
    text = " ".join(offered(rich_case(), "current:before-key").cautions)
    assert "never feeds a cell" in text


def test_a_repeated_current_is_no_fresh_evidence() -> None:
    once = rich_case().after(Move(Gauge("after key"), "0.05"))
    twice = once.after(Move(Gauge("after key"), "0.05"))
    assert chance(twice, "chip-dead:U1") == pytest.approx(chance(once, "chip-dead:U1"))


def test_an_error_code_is_weighed() -> None:
    case = rich_case()
    plain = case.after(Move(Refresh("update"), FAILED))
    module = case.after(Move(Refresh("update"), FAILED, code="E-1"))
    corrupt = case.after(Move(Refresh("update"), FAILED, code="E-2"))
    unknown = case.after(Move(Refresh("update"), FAILED, code="E-99"))
    bad, firmware = f"module-bad:{LATE}", "firmware-corrupt:firmware"
    assert chance(module, bad) > 1.2 * chance(plain, bad)
    assert chance(corrupt, firmware) > 3.0 * chance(plain, firmware)
    assert chance(unknown, bad) == pytest.approx(chance(plain, bad))


def leaking() -> Case:
    """Return a case in which a lane with a protection part reads low."""
    case = rich_case()
    return measured(measured(case, "probe:J1.1", 0.25), "probe:J1.1", 0.25)


def test_lifting_a_part_tells_it_from_its_neighbours() -> None:
    case = leaking()
    assert chance(case, "leaky:D1") > 20.0 * chance(rich_case(), "leaky:D1")
    away = case.after(*outcome_of(case, "lift:D1", OVER_RANGE).moves)
    assert "D1" in away.situation.configuration.removed
    still = case.after(*outcome_of(case, "lift:D1", 0.25).moves)
    assert chance(away, "leaky:D1") > chance(case, "leaky:D1") > chance(still, "leaky:D1")


def test_lifting_is_recorded_with_the_part_off() -> None:
    case = leaking()
    first, second = outcome_of(case, "lift:D1", 0.25).moves
    assert first.act == Work("protection remove", "D1")
    assert second.reading is not None
    assert second.reading.setup.removed == frozenset({"D1"})
    with pytest.raises(MisuseError):
        outcome_of(case, "lift:U1", 0.25)


def test_a_capacitor_that_was_lifted_is_put_back_before_the_end() -> None:
    case = rich_case()
    lifted = case.after(Move(Work("capacitor remove", "C4")))
    model = case.model
    fitted = lifted.after(Move(Work("small passive", "C4")))
    assert lifted.situation.configuration.removed == {"C4"}
    assert not fitted.situation.configuration.removed
    from nextprobe.diagnosis.costs import handover_cost  # noqa: PLC0415

    def ending(one: Case) -> float:
        return handover_cost(model, one.situation.configuration).attended

    assert ending(lifted) > ending(fitted)


def test_items_outside_the_device_are_tried_alone_or_together() -> None:
    case = demo_case("charging")
    keys = [item.fault.key for item in case.model.listed]
    assert {"external:charging/cable", "external:charging/charger"} <= set(keys)
    cured = {work for work, _, _ in cures_of(case.model.pack, None, fault_from_key(keys[0]))}
    assert cured >= {"try external"}
    after = case.after(Move(Work("try cable", "charging")), fails("charging"))
    assert chance(after, keys[0]) < 0.2 * chance(case, keys[0])
    charger = "external:charging/charger"
    assert chance(after, charger) > 0.9 * chance(case, charger)
    assert "work:try-cable:charging" in case.model.work_by_id


def test_update_comes_before_restore_and_restore_only_if_wiping_is_allowed() -> None:
    case = small_case()
    ids = option_ids(case, "refresh")
    assert ids.index("refresh:update") < ids.index("refresh:restore")
    trial = offered(case, f"trial:{LATE.replace(' ', '-')}:fit-refresh")
    assert "wipes" not in " ".join(trial.cautions)
    wiping = demo_case().problem.model.pack.refreshes["restore"]
    assert not wiping.keeps_data
    assert wiping.elapsed > wiping.attended


def device(case: Case, key: str, seed: int = 5) -> SimulatedDevice:
    fault = fault_from_key(key)
    rng = np.random.default_rng(seed)
    pack, board = case.model.pack, case.model.board
    item = candidate_for(case, fault)
    truth = draw_truth(pack, board, case.model.complaint, item, rng, steady=True)
    return SimulatedDevice(
        pack, board, replace(truth, hidden=(replace(truth.hidden[0], fault=fault),), slip=0.0), rng
    )


@pytest.mark.parametrize(
    ("key", "name", "low", "high"),
    [
        ("open:C1", "probe:C1:capacitance", 0.0, 1e-9),
        ("open:C1", "probe:C2:capacitance", 7e-8, 1.3e-7),
        ("high-resistance:FB1@20", "probe:FB1:low-ohms", 15.0, 26.0),
        ("no-output:U2", "probe:SC_VDD12:volts", 0.0, 0.01),
        ("no-output:U2", "probe:VDD18:volts", 1.7, 1.9),
    ],
)
def test_the_simulated_device_answers_in_every_mode(
    key: str, name: str, low: float, high: float
) -> None:
    case = rich_case()
    bench = device(case, key)
    move = bench.answer(case.problem.probing.measured(name).act())
    assert move.reading is not None
    value = move.reading.value
    assert not isinstance(value, OverRange)
    assert low <= value <= high


def test_the_simulated_device_draws_a_current_and_gives_codes() -> None:
    case = small_case(pack=rich(), board=True, complaint="sound")
    leak = device(case, "leaky:C6@100")
    amperes = float(leak.answer(Gauge("before key")).result)
    assert 0.01 < amperes < 0.1
    again = float(leak.answer(Gauge("before key")).result)
    assert again == pytest.approx(amperes, abs=0.001)
    case, bad = small_case(pack=rich(), board=True), f"module-bad:{LATE}"
    moves = [device(case, bad, seed).answer(Refresh("update")) for seed in range(200)]
    codes = {move.code for move in moves if move.result == FAILED}
    assert "E-1" in codes


def test_every_kind_is_recorded_in_a_job() -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    job.record("probe:C405:capacitance", "98n")
    job.read("C406", "0.1n", mode="capacitance")
    job.record("probe:FB401:low-ohms", "0.2")
    job.record("run:J4:ohms", [("14", "6.2k"), ("18", "3k3")])
    job.record("probe:J4.21~C407.1:continuity", "beep")
    job.record("probe:IMG_VDD12:volts", "1.21")
    job.record("current:before-key", "0.4 mA")
    job.record("refresh:update", "refresh failed E-21")
    job.record("lift:D404", "OL")
    said = [move.act for move in job.so_far.moves]
    assert Probe("C405.2", mode=MeterMode.CAPACITANCE, clamped="C405.1") in said
    assert Probe("J4.14", mode=MeterMode.OHMS) in said
    assert Gauge("before key") in said
    assert Work("protection remove", "D404") in said
    assert job.suspects(1)[0].key == "open:C406"
    values = [move.reading.value for move in job.so_far.moves if move.reading is not None]
    assert values[0] == pytest.approx(98e-9)
    assert next(move for move in job.so_far.moves if move.code).code == "E-21"


@pytest.mark.parametrize("text", ["", "blue", "-3 A", "400 A"])
def test_what_is_no_current_is_refused(text: str) -> None:
    with pytest.raises(DataError):
        outcome_of(rich_case(), "current:before-key", text)


def test_what_is_beyond_the_limit_of_the_supply_is_the_limit() -> None:
    (move,) = outcome_of(rich_case(), "current:before-key", "OL").moves
    assert float(move.result) == pytest.approx(2.0)


def test_a_reading_keeps_the_set_up_that_it_was_taken_in() -> None:
    (move,) = outcome_of(rich_case(), "probe:C1:capacitance", "100n").moves
    assert move.reading == Reading(
        "C1.2", pytest.approx(1e-7), BenchSetup(MeterMode.CAPACITANCE, "C1.1")
    )
