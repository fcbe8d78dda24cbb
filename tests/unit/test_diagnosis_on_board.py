"""Measurements away from the connectors: which are there, and what they tell apart."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nextprobe.board import MeterMode, PartKind
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.predicted import Reference
from nextprobe.diagnosis.running import NORMAL, SHORTED, bin_chances
from nextprobe.job.shelf import shelf_from


@pytest.fixture(scope="module")
def case() -> Case:
    shelf, _ = shelf_from("ferry-terminal")
    return shelf.case("power")


def chance(case: Case, fault: str, point: str, mode: MeterMode, word: int) -> float:
    """Return the chance of a word, by its place, where a measurement is taken under a fault."""
    place = next(i for i, item in enumerate(case.model.listed) if item.fault.key == fault)
    runs = case.problem.probing.runs.values()
    found = [item for run in runs for item in run.measurements if item.setup.mode is mode]
    board = case.brief.board
    assert board is not None and case.model.expectations is not None
    item = next(i for i in found if i.point == point or board.net_of(i.point) == point)
    return float(bin_chances(case.model.expectations.at(item.point, item.setup))[place, word])


def test_a_short_on_a_rail_that_no_connector_shows_reads_next_to_nothing(case: Case) -> None:
    shorted = chance(case, "short:C505", "VDD_MEM", MeterMode.DIODE, 0)
    other = chance(case, "short:C404", "VDD_MEM", MeterMode.DIODE, 2)
    assert (SHORTED, NORMAL) == ("near zero", "as expected")
    assert shorted > 0.9
    assert other > 0.9


def test_where_good_boards_were_measured_a_leak_is_seen_on_the_rails_in_ohms(case: Case) -> None:
    good = Reference(3_300.0, 5, "measured")
    known = Case(
        replace(case.brief, references={("VDD18", MeterMode.OHMS): good}), tables=case.tables
    )
    run = known.problem.probing.runs["run:rails:ohms"]
    board = known.brief.board
    assert board is not None
    assert [board.net_of(item.point) for item in run.measurements] == ["VDD18"]
    leak = min(
        (item.fault for item in known.model.listed if item.fault.family == "leaky:C506"),
        key=lambda fault: abs((fault.magnitude or 0.0) - 600.0),
    )
    in_diode_mode = chance(known, leak.key, "VDD18", MeterMode.DIODE, 2)
    in_ohms = chance(known, leak.key, "VDD18", MeterMode.OHMS, 2)
    assert in_ohms < 0.05
    assert in_diode_mode > 0.5


def test_rails_of_which_no_good_board_is_known_are_not_measured_in_ohms(case: Case) -> None:
    assert "run:rails:ohms" not in case.problem.probing.runs


def test_an_open_resistor_in_the_middle_of_the_board_is_seen_in_ohms(case: Case) -> None:
    run = case.problem.probing.runs["run:resistors"]
    item = next(item for item in run.measurements if item.point.startswith("R403."))
    assert item.setup.mode is MeterMode.OHMS
    places = {each.fault.key: place for place, each in enumerate(case.model.listed)}
    normal = run.chance_of(item)[:, 2]
    assert normal[places["open:R403"]] < 0.1
    assert normal[-1] > 0.9


def test_each_rail_is_touched_once_at_a_pad_within_reach(case: Case) -> None:
    board = case.brief.board
    assert board is not None
    items = case.problem.probing.runs["run:rails"].measurements
    nets = [board.net_of(item.point) for item in items]
    assert len(set(nets)) == len(nets) > 3
    assert all(board.role(net).is_supply for net in nets)
    kinds = {board.part(item.point.partition(".")[0]).kind for item in items}
    assert not kinds & {PartKind.CHIP, PartKind.CONNECTOR}


def test_runs_on_the_board_leave_to_a_connector_what_it_shows(case: Case) -> None:
    runs = case.problem.probing.runs
    at_connectors = {
        item.id
        for name, run in runs.items()
        if name.startswith("run:J")
        for item in run.measurements
    }
    for name in ("run:rails", "run:resistors", "run:coils"):
        assert not at_connectors & {item.id for item in runs[name].measurements}


def test_resistors_that_conduct_are_measured_in_low_ohms(case: Case) -> None:
    board = case.brief.board
    assert board is not None
    for name, mode in (("run:coils", MeterMode.LOW_OHMS), ("run:resistors", MeterMode.OHMS)):
        for item in case.problem.probing.runs[name].measurements:
            part = board.part(item.point.partition(".")[0])
            assert item.setup.mode is mode
            if part.kind is PartKind.RESISTOR:
                assert ((part.value or 0.0) <= 300.0) is (mode is MeterMode.LOW_OHMS)
