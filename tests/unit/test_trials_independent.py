"""Devices of other worlds: what is drawn, what differs, and that every world plays a job."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
import pytest
from circuit_spice import require_ngspice
from diagnosis_cases import TABLES, pannier, small_board

from nextprobe.board import Board, FaultKind, MeterMode, OverRange, Part, PartKind, Pin, Role
from nextprobe.cli.rehearse import rehearse as rehearse_command
from nextprobe.diagnosis import Probe, Reference
from nextprobe.diagnosis.acts import DONOR, PATIENT
from nextprobe.errors import DataError, MisuseError, SolverError
from nextprobe.readers.ngspice import run_ngspice
from nextprobe.reference.clamp_priors import AT_1_MILLIAMPERE, STEP, UPPER_CLAMP_USABLE
from nextprobe.trials.coverage import Interval, coverage
from nextprobe.trials.independent import MATCHED, WORLDS, World, world_named
from nextprobe.trials.independent.curves import Curve, drawn_curve, moved
from nextprobe.trials.independent.parts import BoardParts, MadeParts, drawn_score
from nextprobe.trials.independent.rates import rate_factors
from nextprobe.trials.ready import Shelf
from nextprobe.trials.record import record_from
from nextprobe.trials.rehearsal import Plan, Roots, drawn, rehearse

REFERENCES = {("J1.2", MeterMode.DIODE): Reference(0.5, 2, "two boards")}
SHELF = Shelf(pannier(), small_board(), REFERENCES, TABLES)
PLAIN = [name for name, world in WORLDS.items() if not world.simulated]
SIMULATED = [name for name, world in WORLDS.items() if world.simulated]


def shelf_of(name: str) -> Shelf:
    if WORLDS[name].simulated:
        require_ngspice()
    return replace(SHELF, world=WORLDS[name], simulator=run_ngspice)


def one_chip() -> tuple[Board, Part, Pin]:
    pin = Pin("1", "DATA")
    chip = Part("U1", PartKind.CHIP, (pin, Pin("2", "GND")))
    return Board("one chip", (chip,), {"DATA": Role.LOGIC}), chip, pin


# What is drawn.


def made_curves(count: int) -> list[Curve]:
    board, chip, pin = one_chip()
    laws = [
        MadeParts(WORLDS["clamps"], 0.03, seed).lower(board, chip, pin) for seed in range(count)
    ]
    return [law for law in laws if isinstance(law, Curve)]


def test_drawn_clamps_have_the_published_quantiles() -> None:
    # 18 public IBIS (ANSI/EIA-656) files, aggregates: see `clamp_priors`.
    curves = made_curves(3000)
    assert len(curves) == 3000
    drops = np.array([curve.drop(1e-3) for curve in curves])
    for level in (0.05, 0.25, 0.5, 0.75, 0.95):
        # The share below a quantile is within four standard deviations of its level.
        share = float((drops <= AT_1_MILLIAMPERE.quantile(level)).mean())
        assert abs(share - level) < 4.0 * (level * (1.0 - level) / 3000) ** 0.5
    steps = drops - np.array([curve.drop(0.3e-3) for curve in curves])
    middle = np.quantile(steps, [0.25, 0.5, 0.75])
    assert middle == pytest.approx([STEP.lower, STEP.median, STEP.upper], abs=0.004)


def test_upper_clamps_are_as_often_missing_as_published() -> None:
    board, chip, pin = one_chip()
    made = [MadeParts(WORLDS["clamps"], 0.03, seed) for seed in range(2000)]
    there = sum(each.upper(board, chip, pin) is not None for each in made)
    expected = UPPER_CLAMP_USABLE[0] / UPPER_CLAMP_USABLE[1]
    assert there / 2000 == pytest.approx(expected, abs=4.0 * (expected / 2000) ** 0.5)


def test_a_curve_rises_and_moves_as_asked() -> None:
    curve = drawn_curve(0.6, 0.5, np.random.default_rng(1))
    assert np.all(np.diff(curve.volts) > 0.0)
    assert np.all(np.diff(curve.amperes) >= 0.0)
    assert curve.drop(1e-3) == pytest.approx(0.6)
    assert moved(curve, 0.05).drop(1e-3) == pytest.approx(0.65)  # type: ignore[union-attr]


def test_boards_of_a_type_share_their_chips_and_differ_a_little() -> None:
    board, chip, pin = one_chip()

    def drop(kind: int, own: int) -> float:
        world = WORLDS["clamps"]
        law = BoardParts(world, MadeParts(world, 0.03, kind), own).lower(board, chip, pin)
        assert isinstance(law, Curve)
        return law.drop(1e-3)

    same = np.array([drop(5, own) for own in range(200)])
    others = np.array([drop(kind, 0) for kind in range(200)])
    assert 0.0 < same.std() < 0.5 * others.std()
    assert drop(5, 7) == drop(5, 7)


def test_heavy_tails_have_the_same_quartiles_and_farther_outliers() -> None:
    rng = np.random.default_rng(3)
    heavy = np.array([drawn_score(WORLDS["heavy tails"], rng) for _ in range(20000)])
    # Quartiles of a standard normal variate, from tables.
    assert np.quantile(heavy, [0.25, 0.75]) == pytest.approx([-0.6745, 0.6745], abs=0.03)
    usual = np.array([drawn_score(MATCHED, rng) for _ in range(20000)])
    assert (abs(heavy) > 5.0).mean() > 3.0 * (abs(usual) > 5.0).mean()


def test_a_biased_type_drops_sixty_millivolts_more_or_less() -> None:
    board, chip, pin = one_chip()
    for seed in range(20):
        plain, biased = (
            MadeParts(replace(MATCHED, bias=bias), 0.03, seed).lower(board, chip, pin)
            for bias in (0.0, 0.060)
        )
        # From the diode equation: n Vt ln(ratio of saturation currents), n 1.6, Vt 25.69 mV.
        ratio = plain.saturation / biased.saturation  # type: ignore[union-attr]
        assert abs(1.6 * 25.69e-3 * np.log(ratio)) == pytest.approx(0.060, rel=1e-3)


def test_rates_are_wrong_by_kind_the_same_in_a_whole_rehearsal() -> None:
    kinds = [FaultKind.OPEN, FaultKind.SHORT, FaultKind.LEAKY, FaultKind.OPEN]
    world = WORLDS["rates times three"]
    found = rate_factors(world, 4, kinds)
    assert set(found) <= {3.0, 1.0 / 3.0}
    assert found[0] == found[3]
    assert np.array_equal(found, rate_factors(world, 4, kinds))
    every = np.array([rate_factors(world, seed, kinds[:3]) for seed in range(40)])
    assert {3.0, 1.0 / 3.0} == set(every.ravel().tolist())


# Worlds.


def test_every_setting_differs_by_itself_and_all_do_together() -> None:
    names = [each.name for each in fields(World) if each.name not in {"name", "says", "simulated"}]
    together = set()
    for name, world in WORLDS.items():
        differs = {field for field in names if getattr(world, field) != getattr(MATCHED, field)}
        if name == "everything":
            assert differs == together
        else:
            together |= differs
            assert bool(differs) == (name != "matched")
    with pytest.raises(MisuseError, match="matched, clamps"):
        world_named("moon")


@pytest.mark.parametrize("name", WORLDS)
def test_every_world_plays_a_job(name: str) -> None:
    shelf = shelf_of(name)
    plan = Plan(("scanner",), 1, 2, strategies=("perfect_knowledge", "probe_all"))
    (record,) = rehearse(shelf, plan)
    assert set(record.jobs) == {"perfect_knowledge", "probe_all"}
    assert record.places
    assert record_from(json.loads(json.dumps(record.as_data()))).intervals == record.intervals


def some_readings(name: str) -> list[object]:
    shelf = shelf_of(name)
    plan = Plan(("scanner",), 1, 2, strategies=("perfect_knowledge",))
    device = drawn(Roots(shelf), plan, 0).device()
    points = sorted(point for point in small_board().nets if point != "GND")
    probes = [Probe(point, who) for point in points
              for who in (PATIENT, DONOR)]  # fmt: skip
    moves = [device.answer(probe) for probe in probes]
    return [move.reading.value for move in moves if move.reading is not None]


@pytest.mark.parametrize("name", [name for name in SIMULATED if name != "clamps"])
def test_two_worlds_read_otherwise_and_each_the_same_again(name: str) -> None:
    readings = some_readings(name)
    assert readings == some_readings(name)
    assert readings != some_readings("clamps")


def test_known_good_readings_are_of_the_same_type_of_board() -> None:
    shelf = shelf_of("clamps")
    first, again, other = (shelf.of_a_type(seed).references for seed in (1, 1, 2))
    key = ("J1.2", MeterMode.DIODE)
    assert first[key] == again[key]
    assert first[key].value != other[key].value
    assert first[key].boards == 2


def test_more_touches_slip_in_the_world_of_slips() -> None:
    plan = Plan(("scanner",), 1, 2, strategies=("perfect_knowledge",))
    truths = [
        drawn(Roots(shelf_of(name)), plan, 0).device()._truth for name in ("matched", "slips")
    ]
    assert [truth.slips_more for truth in truths] == [0.0, 0.02]
    assert replace(truths[1], slips_more=0.0) == truths[0]


# Without the simulator.


def no_simulator(deck: str) -> str:
    raise SolverError("ngspice is not installed")


def test_a_simulated_world_says_what_it_needs() -> None:
    with pytest.raises(MisuseError, match="needs a circuit simulator"):
        replace(SHELF, world=WORLDS["clamps"]).of_a_type(1)
    with pytest.raises(SolverError):
        replace(SHELF, world=WORLDS["clamps"], simulator=no_simulator).of_a_type(1)
    assert replace(SHELF, world=WORLDS["slips"]).of_a_type(1).kind is None


def test_the_command_says_that_ngspice_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("nextprobe.readers.ngspice.shutil.which", lambda name: None)
    with pytest.raises(DataError) as refused:
        rehearse_command("courier-handheld", devices=1, effort=0, world="clamps")
    assert "ngspice" in refused.value.findings[0].what
    assert refused.value.findings[0].remedy
    with pytest.raises(SolverError, match="not installed"):
        run_ngspice("* nothing")


@pytest.mark.parametrize("on_ci", [False, True])
def test_tests_without_ngspice_skip_or_fail(monkeypatch: pytest.MonkeyPatch, on_ci: bool) -> None:
    monkeypatch.setattr("circuit_spice.shutil.which", lambda name: None)
    monkeypatch.setitem(os.environ, "CI", "true" if on_ci else "")
    kind: Callable[..., object] = pytest.fail.Exception if on_ci else pytest.skip.Exception
    with pytest.raises(kind, match="not installed"):  # type: ignore[call-overload]
        require_ngspice()


# Coverage.


def test_coverage_counts_intervals_by_mode() -> None:
    found = coverage(
        [Interval("diode", True, 0.01), Interval("diode", False, 0.03), Interval("ohms", True, 5.0)]
    )
    assert found["diode"].covered.value == 0.5
    assert found["diode"].half_width == pytest.approx(0.02)
    assert found["ohms"].covered.total == 1


def test_what_is_wrong_on_the_board_shows_in_the_other_world() -> None:
    shelf = shelf_of("heavy tails").of_a_type(3)
    case = shelf.case("scanner")
    to_ground = {
        part.reference
        for part in small_board().parts
        if part.kind is PartKind.CAPACITOR and "GND" in {pin.net for pin in part.pins}
    }
    item = next(
        item for item in case.model.listed
        if item.fault.kind is FaultKind.SHORT and item.fault.place in to_ground
    )  # fmt: skip
    device = shelf.device(case, item, 5, steady=True)
    assert device.truth.family == item.fault.family
    part = small_board().part(item.fault.place)
    net = next(pin.net for pin in part.pins if pin.net != "GND")
    seen = []
    for who in (PATIENT, DONOR):
        reading = device.answer(Probe(net, who)).reading
        assert reading is not None
        seen.append(reading.value)
    assert not isinstance(seen[0], OverRange)
    assert seen[0] < 0.05
