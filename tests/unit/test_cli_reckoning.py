"""`suspects --why`: a sum that a person at the bench can follow."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from command_line import DONE, MISUSED, Run, runner


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("NEXTPROBE_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "100")
    command = runner(capsys)
    pins = tmp_path / "pins.txt"
    pins.write_text("1 gnd\n2 VDD_CAM .612\n3 CAM_SDA .452\n4 CAM_SCL .455\n")
    command("start", "--template", "camera", "--device", "Brindle 4", "--history", "liquid")
    command("pinout", str(pins), "--connector", "J4")
    command("look", "liquid-indicator", "nothing")
    command("read", "J4.3=0.120", "J4.4=0.455")
    return command


def decibans(lines: list[str]) -> list[float]:
    """Return the numbers with a sign at the end, or before the next column, of each line."""
    found = (re.search(r" ([+-]\d+\.\d)(\s|$)", line) for line in lines)
    return [float(match[1]) for match in found if match]


def test_the_column_of_decibans_adds_up(run: Run) -> None:
    answer = run("suspects", "--why", "liquid-residue:J4")
    assert answer.code == DONE
    first, *story, came_in = decibans(answer.out.partition("odds   in words")[2].splitlines())[:3]
    assert first + sum(story) == pytest.approx(came_in, abs=0.11)
    *parts, now = decibans(answer.out.partition("device came in  ")[2].splitlines())
    assert sum(parts) == pytest.approx(now, abs=0.05 * (len(parts) + 2))
    assert len(parts) > 3


def test_the_greatest_parts_are_said_in_a_sentence(run: Run) -> None:
    said = " ".join(run("suspects", "--why", "liquid-residue:J4").out.split())
    assert re.search(r"raised most by: J4\.3 reads 0\.120 V \(diode\), odds \S+ times higher", said)
    assert "lowered most by: liquid indicator: nothing, odds" in said
    assert "over all orders" in said


def test_parts_by_rival_are_shown_with_their_sum(run: Run) -> None:
    shown = run("suspects", "--why", "liquid-residue:J4", "--about", "J4.3").out
    *parts, whole = decibans(shown.partition("what it says of it")[2].splitlines())
    assert sum(parts) == pytest.approx(whole, abs=0.05 * (len(parts) + 1))
    assert "camera module is bad" in shown


def test_what_says_nothing_is_as_likely_under_each_rival(run: Run) -> None:
    run("donor", "J4.2=0.61")
    shown = run("suspects", "--why", "unlisted", "--about", "donor").out
    assert "as likely under each" in shown


@pytest.mark.parametrize(
    "words",
    [
        ("--why", "leaky:Z99"),
        ("--why", "J4", "--about", "no such words"),
        ("--about", "J4.3"),
    ],
)
def test_what_is_not_there_is_misuse(run: Run, words: tuple[str, ...]) -> None:
    answer = run("suspects", *words)
    assert answer.code == MISUSED
    assert answer.err.startswith("Wrong: ")
