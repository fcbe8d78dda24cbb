"""The demo packs: whole, and every ready-made job is one that its case can come to."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from nextprobe.board import GROUND, BenchSetup, Meter, MeterMode, PartKind, Role, fault_from_key
from nextprobe.circuit import predict_many
from nextprobe.diagnosis.candidates import candidates
from nextprobe.job.shelf import shelf_from
from nextprobe.packs.schema import FunctionClass
from nextprobe.readers.chains import read_chains, write_chains
from nextprobe.readers.pack_folder import (
    KNOWN_GOOD,
    PackFolder,
    demo_pack_folder,
    list_demo_packs,
    read_pack_folder,
)
from nextprobe.trials.play import play
from nextprobe.trials.ready import Shelf, job_device, open_job
from nextprobe.trials.strategies import Advised

FERRY = "ferry-terminal"
RECORDER = "field-recorder"
JOBS = [
    (pack, name)
    for pack, names in {
        "courier-handheld": (
            "pending",
            "stale",
            "leaky",
            "dirt",
            "cracked",
            "no-output",
            "bridged",
        ),
        FERRY: ("lint", "port", "clamped", "worn", "dark"),
        RECORDER: ("joint", "card", "unheard", "one-sided", "deaf"),
    }.items()
    for name in names
]
# What diode mode, looks and trials can not tell; bench_evidence_limit.py says how far they go.
BEYOND_DIODE_MODE = {"cracked", "no-output"}


@cache
def contents_of(name: str) -> PackFolder:
    contents, findings = read_pack_folder(demo_pack_folder(name))
    assert findings == ()
    assert contents is not None
    return contents


@pytest.mark.parametrize("name", list_demo_packs())
def test_a_pack_reads_without_findings_and_has_a_board(name: str) -> None:
    board = contents_of(name).board
    assert board is not None
    assert 100 <= len(board.parts) <= 180
    assert [net for net in board.nets if board.role(net) is Role.UNKNOWN] == []
    assert [net.name for net in board.nets.values() if len(net.pins) < 2] == []


@pytest.mark.parametrize("name", list_demo_packs())
def test_every_part_has_a_place_of_its_own(name: str) -> None:
    board = contents_of(name).board
    assert board is not None
    places = [part.position for part in board.parts]
    assert None not in places
    assert len(set(places)) == len(places)


@pytest.mark.parametrize("name", list_demo_packs())
def test_the_board_survives_being_written_as_chains(name: str) -> None:
    board = contents_of(name).board
    assert board is not None
    again, findings = read_chains(write_chains(board))
    assert findings == ()
    assert again.roles == board.roles
    assert {part.reference for part in again.parts} == {part.reference for part in board.parts}


@pytest.mark.parametrize("name", list_demo_packs())
def test_numbers_of_a_pack_are_marked_as_common_practice(name: str) -> None:
    head = Path(demo_pack_folder(name), "device.yaml").read_text(encoding="utf-8")[:400]
    assert "common practice, no published" in head
    assert "invented" in head


@pytest.mark.parametrize("name", list_demo_packs())
def test_known_good_readings_are_near_the_prediction(name: str) -> None:
    contents = contents_of(name)
    assert contents.board is not None
    points = [row.point for row in contents.known_good]
    diode = Meter().range_for(MeterMode.DIODE)
    expected = predict_many(contents.board, BenchSetup(), diode, points)
    assert Path(demo_pack_folder(name), KNOWN_GOOD).is_file()
    for row in contents.known_good:
        value = expected[row.point]
        assert isinstance(value, float) == isinstance(row.value, float), row.point
        if isinstance(value, float) and isinstance(row.value, float):
            # Two boards that differ by 12 mV each and 1 % of a meter: five standard deviations.
            assert row.value == pytest.approx(value, abs=0.06), row.point


@pytest.mark.parametrize(("pack", "name"), JOBS)
def test_the_true_fault_of_a_job_could_explain_its_complaint(pack: str, name: str) -> None:
    contents = contents_of(pack)
    job = contents.pack.jobs[name]
    families = {c.fault.family for c in candidates(contents.pack, contents.board, job.complaint)}
    assert {fault_from_key(key).family for key in job.faults} <= families
    assert job.says
    assert job.lesson
    assert len(job.title) < 60


def test_the_ticket_terminal_has_the_functions_of_its_class() -> None:
    pack = contents_of(FERRY).pack
    assert {function.kind for function in pack.functions.values()} >= {
        FunctionClass.CHARGING,
        FunctionClass.POWER,
        FunctionClass.DISPLAY,
        FunctionClass.TOUCH,
        FunctionClass.SOUND,
    }
    assert {job.complaint for job in pack.jobs.values()} == {"charging", "power", "display"}


def test_every_connector_of_the_ticket_terminal_belongs_to_a_module() -> None:
    contents = contents_of(FERRY)
    assert contents.board is not None
    connectors = {p.reference for p in contents.board.parts if p.kind is PartKind.CONNECTOR}
    assert {module.connector for module in contents.pack.modules.values()} == connectors


def test_readings_of_the_ticket_terminal_cover_port_battery_display_and_key() -> None:
    contents = contents_of(FERRY)
    assert contents.board is not None
    pins = {
        f"{reference}.{pin.number}"
        for reference in ("J1", "J2", "J3", "J6")
        for pin in contents.board.part(reference).pins
        if pin.net != GROUND
    }
    assert {row.point for row in contents.known_good} == pins


def test_cells_and_chargers_are_handled_with_care() -> None:
    pack = contents_of(FERRY).pack
    assert any("swollen" in caution for caution in pack.modules["battery"].cautions)
    assert any("stop" in caution for caution in pack.looks["shape of the cell"].cautions)
    external = pack.work["try external"].cautions
    assert any("mains charger" in caution for caution in external)
    assert any("never metal" in caution for caution in external)


def test_a_shorted_protection_part_shows_at_the_port_and_not_behind_the_switch() -> None:
    board = contents_of(FERRY).board
    assert board is not None
    diode = Meter().range_for(MeterMode.DIODE)
    fault = fault_from_key("short:D101")
    shown = predict_many(board, BenchSetup(), diode, ["J1.1", "TP206.1"], (fault,))
    healthy = predict_many(board, BenchSetup(), diode, ["J1.1", "TP206.1"])
    assert float(shown["J1.1"]) < 0.03 < float(healthy["J1.1"])  # type: ignore[arg-type]
    assert shown["TP206.1"] == pytest.approx(healthy["TP206.1"], abs=0.005)


def test_a_cracked_series_capacitor_is_invisible_to_diode_mode() -> None:
    board = contents_of("courier-handheld").board
    assert board is not None
    diode = Meter().range_for(MeterMode.DIODE)
    points = ["J4.15", "C405.2", "U1.A5"]
    fault = fault_from_key(contents_of("courier-handheld").pack.jobs["cracked"].faults[0])
    assert predict_many(board, BenchSetup(), diode, points, (fault,)) == pytest.approx(
        predict_many(board, BenchSetup(), diode, points), abs=5e-4
    )


@cache
def shelf_of(pack: str) -> Shelf:
    return shelf_from(pack)[0]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("pack", "name"), [job for job in JOBS if job[1] not in BEYOND_DIODE_MODE | {"dark"}]
)
def test_a_job_ends_in_the_right_repair(pack: str, name: str) -> None:
    shelf = shelf_of(pack)
    case = open_job(shelf, name)
    # With another seed all jobs are played in the browser.
    played = play(case, job_device(shelf, case, name, 2), Advised(4))
    assert played.right_repair, (played.ending, [step.option for step in played.steps])
    assert not played.wiped
