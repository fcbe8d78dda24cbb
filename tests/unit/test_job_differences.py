"""Patient against donor, and what the meter should show."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from rich.console import Console

from nextprobe import Job
from nextprobe.board import OVER_RANGE, MeterMode
from nextprobe.cli.tables import differences
from nextprobe.diagnosis import FaultTables
from nextprobe.errors import MisuseError

TABLES = FaultTables()
"""Shared: the demo board is solved once."""


@pytest.fixture
def bare() -> Job:
    return Job.start(template="camera", device="Brindle 4")


def test_a_donor_needs_no_board(bare: Job) -> None:
    bare.read_text("J4.1 .500\nJ4.2 .500\nJ4.3 .500\nJ4.4 OL\nJ4.5 .5\nJ4.6 .5\n", "donor")
    bare.read_text("J4.1 .350\nJ4.2 .700\nJ4.3 OL\nJ4.4 .3\nJ4.5 .001\nJ4.6 .505\n")
    found = {item.point: item for item in bare.differences(None)}
    said = {point: item.suggests for point, item in found.items()}
    assert "leak" in said["J4.1"]
    assert "protection" in said["J4.1"]
    assert "open branch" in said["J4.2"]
    assert "ferrite" in said["J4.3"]
    assert "leak" in said["J4.4"]
    assert "short" in said["J4.5"]
    assert "no difference" in said["J4.6"]
    assert found["J4.1"].source == "donor board in this job"


def test_how_much_is_said_in_words_and_never_as_minus_nothing(bare: Job) -> None:
    bare.read_text("J4.1 .500\nJ4.2 .500\nJ4.3 .500\nJ4.4 OL\nJ4.5 OL\nJ4.6 .5\n", "donor")
    bare.read_text("J4.1 .499\nJ4.2 .520\nJ4.3 .250\nJ4.4 .3\nJ4.5 OL\nJ4.6 .5\n")
    said = {item.point: item.amount for item in bare.differences(None)}
    assert said["J4.1"] == said["J4.6"]
    assert re.fullmatch(r"the same within the meter's error of 0\.0\d\d V", said["J4.1"])
    assert said["J4.2"] == "no more than good boards differ by"
    assert re.fullmatch(r"\d+ times what good boards usually differ by", said["J4.3"])
    assert said["J4.4"].startswith("at least ")
    assert said["J4.5"] == "both over-range"
    shown = Console(file=StringIO(), width=120)
    for part in differences(bare.differences(None)):
        shown.print(part)
    assert "-0.0" not in shown.file.getvalue()  # type: ignore[attr-defined]


def test_the_worst_come_first_and_no_more_than_asked(bare: Job) -> None:
    bare.read_text("\n".join(f"J4.{pin} .5" for pin in range(1, 9)), "donor")
    bare.read_text("\n".join(f"J4.{pin} .{500 + 20 * pin}" for pin in range(1, 9)))
    found = bare.differences(5)
    assert [item.point for item in found] == ["J4.8", "J4.7", "J4.6", "J4.5", "J4.4"]


def test_the_last_reading_of_a_point_is_compared(bare: Job) -> None:
    bare.read("J4.1", ".5", device="donor")
    bare.read("J4.1", "OL")
    bare.read("J4.1", ".5")
    [only] = bare.differences()
    assert only.patient == 0.5


def test_a_donor_goes_before_the_pack(bare: Job) -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    job.read("J4.3", ".3")
    assert job.differences()[0].source == "mean of 2 known-good boards"
    job.read("J4.3", ".31", device="donor")
    assert (job.differences()[0].good, job.differences()[0].kind) == (0.31, "alike")


def test_ohms_are_compared_by_their_own_spread(bare: Job) -> None:
    bare.read("J4.1", "10k", device="donor", mode="ohms")
    bare.read("J4.1", "10.3k", mode="ohms")
    bare.read("J4.2", "10k", device="donor", mode="ohms")
    bare.read("J4.2", "2k", mode="ohms")
    kinds = {item.point: str(item.kind) for item in bare.differences()}
    assert kinds == {"J4.1": "alike", "J4.2": "lower"}
    assert {item.mode for item in bare.differences()} == {MeterMode.OHMS}


def test_nothing_in_common_gives_nothing(bare: Job) -> None:
    bare.read("J4.1", ".5", device="donor")
    bare.read("J4.2", ".5")
    assert bare.differences() == ()


def test_what_to_expect_comes_with_its_uncertainty_and_source() -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    found = job.expected("J4.4")
    assert found.healthy == pytest.approx(0.532)
    assert 0.005 < found.deviation < 0.1
    assert found.low < 0.532 < found.high
    assert found.source == "mean of 2 known-good boards"
    assert (found.read, found.verdict) == ((), "")
    assert found.suspects
    assert all(item.values for item in found.suspects)
    job.read("J4.4", "OL")
    again = job.expected("j4.4")
    assert (again.read, again.verdict) == ((OVER_RANGE,), "over-range")


def test_over_range_can_be_what_is_expected() -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    assert job.expected("J4.21").healthy is OVER_RANGE
    job.read("J4.21", "OL")
    assert job.expected("J4.21").verdict == "as expected"


@pytest.mark.parametrize(("point", "mode"), [("J99.1", "diode"), ("J4.4", "dc volts")])
def test_what_can_not_be_expected(point: str, mode: str) -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    with pytest.raises(MisuseError):
        job.expected(point, mode)


def test_without_a_board_nothing_is_expected(bare: Job) -> None:
    with pytest.raises(MisuseError, match="add a pinout or a chain"):
        bare.expected("J4.1")
