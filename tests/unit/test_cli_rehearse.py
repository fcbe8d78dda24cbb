"""Rehearsals at the command line: kept in a file, gone on with, drawn, and refused where wrong."""

from __future__ import annotations

import io
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from rich.console import Console

from nextprobe.cli.charts import bars, calibration, histogram
from nextprobe.cli.rehearsal_file import InMemory, RehearsalFile
from nextprobe.cli.rehearsal_json import report_data
from nextprobe.cli.rehearsal_tables import WORDS, report_tables
from nextprobe.diagnosis.options import CLOSE, ESCALATE
from nextprobe.errors import DataError
from nextprobe.trials.outcome import Outcome
from nextprobe.trials.record import DeviceRecord
from nextprobe.trials.reliability import tally
from nextprobe.trials.report import Report, report
from nextprobe.trials.strategies import NAMES
from nextprobe.trials.strategies.tuning import Tuned

HEADER = {"pack": "abc", "version": "1.0", "seed": 3, "complaints": ["scanner"]}
TUNED = Tuned(("swap", "clean"), 61.5, 12, 40)


def record(number: int) -> DeviceRecord:
    ending = ESCALATE if number % 5 == 4 else CLOSE
    jobs = {
        name: Outcome(50.0 + 7 * number + 10 * place, 600.0, 900.0, 3, ending, ending == CLOSE)
        for place, name in enumerate(NAMES)
    }
    forecast = tally([0.7, 0.2, 0.001], [number % 2 == 0, False, False], [0.5, 0.3, 0.1])
    leading = tally([0.7], [number % 2 == 0])
    truth = ("dirt:J1", "open:R1") if number == 1 else ("dirt:J1",)
    kept = {"intake": forecast, "stop": forecast}
    return DeviceRecord(number, "scanner", truth, jobs, kept, {"intake": leading}, (0.3, 0.8))


def a_report(devices: int = 10) -> Report:
    return report([record(number) for number in range(devices)])


def opened(path: Path, **changes: object) -> RehearsalFile:
    file = RehearsalFile(path, {**HEADER, **changes})
    file.open()
    return file


# The file.


def test_what_was_written_is_there_again(tmp_path: Path) -> None:
    path = tmp_path / "rehearsal.jsonl"
    file = opened(path)
    file.add_order("scanner", TUNED)
    for number in (4, 0, 2):
        file.add(record(number))
    again = opened(path)
    assert again.orders == {"scanner": TUNED}
    assert sorted(again.records) == [0, 2, 4]
    assert again.records[2].as_data() == record(2).as_data()
    assert [each.number for each in again.upto(3)] == [0, 2]
    assert all(json.loads(line) for line in path.read_text("utf-8").splitlines())


def test_a_line_that_was_cut_off_is_played_again(tmp_path: Path) -> None:
    path = tmp_path / "rehearsal.jsonl"
    file = opened(path)
    for number in range(3):
        file.add(record(number))
    path.write_bytes(path.read_bytes()[:-25])
    again = opened(path)
    assert sorted(again.records) == [0, 1]
    again.add(record(2))
    assert sorted(opened(path).records) == [0, 1, 2]


@pytest.mark.parametrize(
    ("name", "value"), [("pack", "def"), ("version", "1.1"), ("seed", 4), ("complaints", ["other"])]
)
def test_devices_of_another_rehearsal_are_not_mixed_in(
    tmp_path: Path, name: str, value: object
) -> None:
    path = tmp_path / "rehearsal.jsonl"
    opened(path).add(record(0))
    before = path.read_bytes()
    with pytest.raises(DataError) as caught:
        opened(path, **{name: value})
    [finding] = caught.value.findings
    assert finding.where.name == name
    assert finding.where.line == 1
    assert str(path) in str(finding)
    assert "begin another file" in finding.remedy
    assert path.read_bytes() == before


@pytest.mark.parametrize("text", ["no json\n", "[1]\n", '{"rehearsal": 99}\n', "no end of line"])
def test_what_is_no_rehearsal_is_refused_and_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "notes.txt"
    path.write_text(text, "utf-8")
    with pytest.raises(DataError):
        opened(path)
    assert path.read_text("utf-8") == text


@pytest.mark.parametrize(
    "line", ["{}", "nonsense", '{"device": 1, "complaint": "x"}', '{"order": 3}']
)
def test_a_damaged_line_is_named(tmp_path: Path, line: str) -> None:
    path = tmp_path / "rehearsal.jsonl"
    file = opened(path)
    file.add(record(0))
    with path.open("a", encoding="utf-8") as text:
        text.write(line + "\n")
    with pytest.raises(DataError) as caught:
        opened(path)
    assert caught.value.findings[0].where.line == 3


def test_a_file_that_can_not_be_used_is_a_finding(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="can not be used"):
        opened(tmp_path / "no such folder" / "rehearsal.jsonl")


def test_without_a_file_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    kept = InMemory(Path(), HEADER)
    kept.open()
    kept.add(record(0))
    kept.add_order("scanner", TUNED)
    assert list(kept.records) == [0]
    assert list(tmp_path.iterdir()) == []


# What is shown.


def test_json_is_plain_and_has_what_was_promised() -> None:
    data = json.loads(json.dumps(report_data(a_report())))
    assert list(data["strategies"]) == list(NAMES)
    for score in data["strategies"].values():
        low, high = score["ci95"]
        assert low <= score["mean_cost"] <= high
        assert (score["wrong_repairs"], score["declined"], score["escalated"]) == (0, 0, 2)
    assert data["strategies"]["nextprobe"]["dearer_than_nextprobe"] is None
    assert data["strategies"]["fixed_order"]["dearer_than_nextprobe"] == pytest.approx(10.0)
    assert data["with_several_faults"] == 1
    calibration = data["calibration"]
    assert {"ece_debiased", "ece_band", "log_score", "brier_skill", "n"} <= set(calibration)
    assert calibration["n"] == 60
    assert set(calibration["checkpoints"]) == {"intake", "stop"}
    assert data["pit"]["n"] == 20
    assert data["pit"]["first_of_each_device"]["n"] == 10


def test_a_gap_without_bounds_is_none_in_json() -> None:
    # Perfect knowledge is dearest here: there is no gap to close.
    data = report_data(a_report())
    assert (data["gap_closed"], data["gap_ci95"], data["gap_from"]) == (None, None, "fixed_order")


def test_without_forecasts_there_is_no_calibration() -> None:
    bare = [
        DeviceRecord(0, "scanner", ("dirt:J1",), {"p_over_c": Outcome(1, 1, 1, 1, CLOSE, True)})
    ]
    data = report_data(report(bare))
    assert data["calibration"] is data["pit"] is data["gap_closed"] is None
    assert data["strategies"]["p_over_c"]["dearer_than_nextprobe"] is None


def test_tables_fit_a_terminal_of_80_columns() -> None:
    console = Console(file=io.StringIO(), width=80, highlight=False, force_terminal=False)
    for part in report_tables(a_report(), "EUR", {"scanner": TUNED}):
        console.print(part)
    text = console.file.getvalue()  # type: ignore[attr-defined]
    assert all(len(line.rstrip()) <= 80 for line in text.splitlines())
    for words in (*WORDS.values(), "swap, clean, repairs that pay", "never scored", "10 simulated"):
        assert words in text
    assert "…" not in text


# Pictures.


def parsed(picture: str) -> ElementTree.Element:
    return ElementTree.fromstring(picture)


def test_bars_are_as_long_as_their_values() -> None:
    root = parsed(bars("Cost <&>", {"a & b": (50.0, 40.0, 60.0), "c": (25.0, 0.0, 50.0)}, "EUR"))
    lengths = [float(bar.get("width", "0")) for bar in root.iter() if bar.get("class") == "bar"]
    assert lengths[0] == pytest.approx(2.0 * lengths[1], rel=1e-3)
    assert "a & b" in [text.text for text in root.iter() if text.tag.endswith("text")]


def test_a_histogram_has_a_bar_for_each_count() -> None:
    root = parsed(histogram("Places", [0, 2, 4], "place"))
    heights = [float(bar.get("height", "0")) for bar in root.iter() if bar.get("class") == "bar"]
    assert heights[0] == 0.0
    assert heights[2] == pytest.approx(2.0 * heights[1], rel=1e-3)


def test_chances_that_come_true_lie_on_the_line() -> None:
    root = parsed(calibration("True?", [(0.01, 0.01, 5), (0.5, 0.5, 9), (1.0, 1.0, 2), (0, 0, 3)]))
    [line] = [item for item in root.iter() if item.get("class") == "even"]
    x, y = (float(line.get(name, "0")) for name in ("x1", "y1"))
    for dot in (item for item in root.iter() if item.get("class") == "dot"):
        across, up = float(dot.get("cx", "0")) - x, y - float(dot.get("cy", "0"))
        assert across == pytest.approx(up, abs=1e-3)


def test_pictures_of_nothing_are_pictures() -> None:
    for picture in (bars("", {}, ""), histogram("", [], ""), calibration("", [])):
        assert parsed(picture).tag.endswith("svg")
