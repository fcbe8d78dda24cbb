"""Boards, moves and intakes survive the log exactly; everything shown has a plain JSON form."""

from __future__ import annotations

import json

import pytest

from nextprobe import Job
from nextprobe.board import OVER_RANGE, BenchSetup, Board, MeterMode, Part, PartKind, Pin, Reading
from nextprobe.board import Role as NetRole
from nextprobe.diagnosis import Act, Check, Fit, Look, Move, Probe, Refresh, Work
from nextprobe.errors import MisuseError
from nextprobe.readers.pack_folder import demo_pack_folder, read_pack_folder
from nextprobe.workbench.board_json import board_digest, board_from_json, board_to_json
from nextprobe.workbench.canonical import canonical_json
from nextprobe.workbench.intake import Intake, Package, start_from_json, start_to_json
from nextprobe.workbench.move_json import move_from_json, move_to_json
from nextprobe.workbench.plain import plain
from nextprobe.workbench.record import read_record

ODD = Board(
    "odd",
    (
        Part("R1", PartKind.RESISTOR, (Pin("1", "A", "VDD"), Pin("2", "B")), 0.1 + 0.2, "0.3"),
        Part("U?J4", PartKind.CHIP, (), None, "whatever", (0.0121, -0.0), True),
        Part("C1", PartKind.CAPACITOR, (Pin("x y", "näh"),), 1e-12),
    ),
    {"näh": NetRole.OPEN_DRAIN, "A": NetRole.RAIL},
)


def test_a_board_comes_back_exactly() -> None:
    contents, _ = read_pack_folder(demo_pack_folder())
    assert contents is not None
    for board in (ODD, contents.board):
        assert board is not None
        text = canonical_json(board_to_json(board))
        again = board_from_json(json.loads(text))
        assert again == board
        assert list(again.roles) == list(board.roles)
        assert board_digest(again) == board_digest(board)


def test_digests_tell_boards_apart() -> None:
    assert board_digest(None) == ""
    assert board_digest(ODD) != board_digest(ODD.with_roles({"B": NetRole.LANE}))


@pytest.mark.parametrize(
    "act",
    [
        Fit("front camera", "donor"),
        Refresh("update"),
        Work("small passive", "C87"),
        Check("imaging", 5),
        Look("liquid indicator"),
        Probe("J4.12", "donor"),
    ],
)
def test_acts_come_back_exactly(act: Act) -> None:
    move = Move(act, "seen")
    assert move_from_json(json.loads(canonical_json(move_to_json(move)))) == move


@pytest.mark.parametrize("value", [0.1 + 0.2, 0.0, 1e-9, 4700.0, OVER_RANGE])
def test_readings_come_back_exactly(value: float) -> None:
    setup = BenchSetup(
        MeterMode.LOW_OHMS, "J4.1", False, frozenset({"b", "a"}), frozenset({"C1"}), True, 300.5
    )
    move = Move(Probe("J4.12"), "", Reading("J4.12", value, setup, "touch 1", 1.7e9))
    assert move_from_json(json.loads(canonical_json(move_to_json(move)))) == move


def test_an_intake_with_its_pack_comes_back_exactly() -> None:
    contents, _ = read_pack_folder(demo_pack_folder())
    assert contents is not None
    package = Package(contents.pack, contents.board, contents.known_good, "folder", contents.hash)
    intake = Intake("Satchel 3", "imaging", "black", ("drop",), True, False, 99.5)
    text = canonical_json(start_to_json(intake, package))
    assert start_from_json(text) == (intake, package)


def test_a_log_must_begin_with_a_start() -> None:
    job = Job.start(template="camera")
    job.note("x")
    with pytest.raises(MisuseError, match="begins with 'started'"):
        read_record(job.events()[1:])


def test_everything_that_is_shown_is_plain_json() -> None:
    job = Job.start("courier-handheld", complaint="imaging")
    job.read("J4.21", "OL")
    job.read("J4.4", ".4")
    shown = (
        job.next_steps(None),
        job.suspects(),
        job.why(),
        job.why("run:J4"),
        job.expected("J4.21"),
        job.differences(None),
        job.overview(),
        job.history(),
        job.remarks(),
        job.findings(),
    )
    for item in shown:
        assert json.loads(json.dumps(plain(item), allow_nan=False)) or not item
    assert plain(job.expected("J4.21"))["healthy"] == "over-range"  # type: ignore[index, call-overload]


def test_plain_forms() -> None:
    assert plain({MeterMode.DIODE: (1, 2.5), "b": {"y", "x"}}) == {
        "diode": [1, 2.5],
        "b": ["x", "y"],
    }
    assert plain(object) == str(object)
