"""The demo pack: whole, consistent, and what it promises to teach."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nextprobe.board import (
    GROUND,
    OVER_RANGE,
    BenchSetup,
    Meter,
    MeterMode,
    OverRange,
    Part,
    PartKind,
    Role,
    fault_from_key,
)
from nextprobe.board.board import Board
from nextprobe.circuit import predict_many
from nextprobe.readers.chains import read_chains, write_chains
from nextprobe.readers.pack_folder import (
    PackFolder,
    demo_pack_folder,
    list_demo_packs,
    read_pack_folder,
)

DIODE = Meter().range_for(MeterMode.DIODE)


@pytest.fixture(scope="module")
def demo() -> PackFolder:
    contents, findings = read_pack_folder(demo_pack_folder())
    assert findings == (), [str(finding) for finding in findings]
    assert contents is not None
    return contents


@pytest.fixture(scope="module")
def board(demo: PackFolder) -> Board:
    assert demo.board is not None
    return demo.board


def test_every_shipped_pack_is_without_findings() -> None:
    for name in list_demo_packs():
        contents, findings = read_pack_folder(demo_pack_folder(name))
        assert contents is not None
        assert findings == ()


def test_the_size_of_the_board(board: Board) -> None:
    assert 140 <= len(board.parts) <= 180
    assert 105 <= len(board.nets) <= 130


def test_every_part_has_a_place_of_its_own_on_the_board(board: Board) -> None:
    places = [part.position for part in board.parts]
    assert None not in places
    assert len(set(places)) == len(places)
    assert all(0 <= x <= 0.060 and 0 <= y <= 0.038 for x, y in filter(None, places))


def test_every_net_has_a_role_and_two_pins(board: Board) -> None:
    assert [net for net in board.nets if board.role(net) is Role.UNKNOWN] == []
    assert [net.name for net in board.nets.values() if len(net.pins) < 2] == []


def test_every_passive_part_has_a_value(board: Board) -> None:
    passive = {PartKind.RESISTOR, PartKind.CAPACITOR, PartKind.INDUCTOR}
    without = [p.reference for p in board.parts if p.kind in passive and p.value is None]
    assert without == []


def _in_order(part: Part) -> Part:
    return replace(part, pins=tuple(sorted(part.pins, key=lambda pin: pin.number)))


def test_the_board_survives_being_written_as_chains(board: Board) -> None:
    again, findings = read_chains(write_chains(board))
    assert findings == ()
    assert again.roles == board.roles
    assert {_in_order(part) for part in again.parts} == {_in_order(part) for part in board.parts}


def test_every_connector_of_the_board_belongs_to_a_module(demo: PackFolder, board: Board) -> None:
    connectors = {p.reference for p in board.parts if p.kind is PartKind.CONNECTOR}
    assert {module.connector for module in demo.pack.modules.values()} == connectors


def test_the_imaging_module_shares_two_of_its_three_supplies(board: Board) -> None:
    def beyond_ferrite(net: str) -> set[str]:
        return {
            pin.net
            for part, _ in board.parts_on(net)
            if part.kind is PartKind.FERRITE
            for pin in part.pins
        } - {net}

    imaging = {net: beyond_ferrite(net) for net in ("IMG_AVDD", "IMG_IOVDD", "IMG_DVDD")}
    front = beyond_ferrite("FRT_AVDD") | beyond_ferrite("FRT_IOVDD")
    assert imaging["IMG_AVDD"] | imaging["IMG_IOVDD"] == front == {"AVDD28", "VDD18"}
    assert imaging["IMG_DVDD"] == {"IMG_VDD12"}
    sources = {part.reference for part, _ in board.parts_on("IMG_VDD12")} & {"U3"}
    assert sources == {"U3"}
    assert "regulator" in board.part("U3").note


def test_a_new_imaging_module_needs_a_refresh_and_the_reader_beside_it_is_paired(
    demo: PackFolder,
) -> None:
    modules = demo.pack.modules
    assert modules["imaging"].recognised == "after refresh"
    assert modules["imaging"].pairing[0].grade == "lost while away"
    assert modules["fingerprint"].pairing[0].grade == "lost for good"
    assert modules["imaging"].connector == modules["fingerprint"].connector
    assert any("laser" in caution for caution in modules["imaging"].cautions)
    assert all(refresh.cures_recognition > 0.5 for refresh in demo.pack.refreshes.values())


def test_known_good_readings_cover_the_imaging_connector(demo: PackFolder, board: Board) -> None:
    points = {row.point for row in demo.known_good}
    pins = {f"J4.{pin.number}" for pin in board.part("J4").pins if pin.net != GROUND}
    assert points == pins
    assert {row.boards for row in demo.known_good} == {2}


def test_known_good_readings_are_near_the_prediction(demo: PackFolder, board: Board) -> None:
    expected = predict_many(board, BenchSetup(), DIODE, [row.point for row in demo.known_good])
    for row in demo.known_good:
        value = expected[row.point]
        assert isinstance(value, OverRange) == isinstance(row.value, OverRange), row.point
        if not isinstance(value, OverRange) and not isinstance(row.value, OverRange):
            # Two boards that differ by 12 mV each, and the meter: five standard deviations.
            assert row.value == pytest.approx(value, abs=0.05), row.point


def test_a_lane_without_protection_part_reads_over_range_when_healthy(board: Board) -> None:
    shown = predict_many(board, BenchSetup(), DIODE, ["J4.21", "J4.3", "U1.A6"])
    assert shown["J4.21"] is OVER_RANGE
    assert isinstance(shown["J4.3"], float)
    assert isinstance(shown["U1.A6"], float)


def test_the_leaky_job_shows_on_its_pin_and_not_on_its_siblings(
    demo: PackFolder, board: Board
) -> None:
    fault = fault_from_key(demo.pack.jobs["leaky"].faults[0])
    pins = ["J4.3", "J4.5", "J4.9", "J4.11", "J4.15", "J4.17"]
    healthy = predict_many(board, BenchSetup(), DIODE, pins)
    broken = predict_many(board, BenchSetup(), DIODE, pins, (fault,))
    moved = {pin for pin in pins if abs(float(broken[pin]) - float(healthy[pin])) > 0.1}  # type: ignore[arg-type]
    assert moved == {"J4.11"}


def test_the_jobs(demo: PackFolder) -> None:
    jobs = demo.pack.jobs
    assert jobs["pending"].faults == ("module-bad:imaging",)
    assert jobs["stale"].faults == ("recognition-stale:imaging",)
    assert jobs["leaky"].faults[0].startswith("leaky:D")
    assert all(job.lesson and job.says for job in jobs.values())
    assert {job.complaint for job in jobs.values()} == {"imaging"}
