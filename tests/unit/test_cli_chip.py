"""The chip command: what it shows of an IBIS file, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import DONE, FOUND, MISUSED, Run, runner
from ibis_files import bridge_file

MANUAL = Path(__file__).parents[2] / "docs" / "ibis.md"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hollin.ibs").write_text(bridge_file())
    return runner(capsys)


def test_pins_with_their_drops(run: Run) -> None:
    answer = run("chip", "hollin.ibs")
    assert answer.code == DONE
    assert "HLN-4410 by Hollin Works: 6 pins, IBIS 3.2" in answer.out
    rows = {line.split()[0]: line.split() for line in answer.out.splitlines() if line.strip()}
    assert rows["1"] == ["1", "V18", "POWER"]
    pin, signal, kind, typical, least, largest, deviation, upper, fit = rows["3"]
    assert (pin, signal, kind) == ("3", "DATA0", "I/O")
    assert float(typical) == pytest.approx(0.463, abs=4e-3)
    assert float(least) - float(largest) == pytest.approx(0.12, abs=8e-3)
    assert 30 < int(deviation) < 50
    assert float(upper) == pytest.approx(0.730, abs=4e-3)
    assert float(fit) < 2.0
    assert rows["5"][2:4] == ["Input", "0.661"]
    assert rows["5"][-2] == "none"
    assert "18 public IBIS (ANSI/EIA-656) files, aggregates" in " ".join(answer.out.split())


def test_the_manual_shows_what_is_printed(run: Run) -> None:
    shown = MANUAL.read_text("utf-8").partition("$ nextprobe chip hollin.ibs\n\n")[2]
    printed = "\n".join(line.rstrip() for line in run("chip", "hollin.ibs").out.splitlines())
    assert shown.partition("\n```")[0].strip() == printed.strip()


def test_as_json(run: Run) -> None:
    found = run("chip", "hollin.ibs", "--json").data
    assert set(found) == {"chip", "pins", "findings"}
    assert found["findings"] == []
    assert found["chip"]["component"] == "HLN-4410"
    pins = {row["pin"]: row for row in found["pins"]}
    assert set(pins["6"]) == {"pin", "signal", "class"}
    assert set(pins["3"]) == {
        "pin", "signal", "class", "model", "capacitance", "temperature", "drop", "deviation",
        "why_no_drop", "fit", "upper", "upper_drop", "upper_fit",
    }  # fmt: skip
    assert set(pins["3"]["fit"]) == {
        "saturation", "emission", "series", "residual", "worst", "low", "high",
    }  # fmt: skip
    assert pins["5"]["drop"]["min"] is None
    assert (pins["3"]["upper"], pins["5"]["upper"]) == ("there", "none")


def test_what_is_odd_is_said(run: Run, tmp_path: Path) -> None:
    weak = bridge_file().replace("[Ramp]", "[GND Clamp Reference] -5V NA NA\n[Ramp]")
    (tmp_path / "odd.ibs").write_text(weak.replace("in_33  0.05", "gone   0.05"))
    answer = run("chip", "odd.ibs")
    assert answer.code == DONE, "a warning is no error"
    assert "no drop at 3, 4: it conducts to -5 V, not to ground" in answer.out
    assert "unknown model" in " ".join(answer.out.split())
    assert "one pin is of the model gone, which the file does not have" in answer.err
    unusual = bridge_file().replace("-0.5 ", "-0.2 ")
    (tmp_path / "turned.ibs").write_text(unusual)
    answer = run("chip", "turned.ibs")
    assert answer.code == FOUND
    assert "the voltages turn back here" in answer.err


def test_a_file_with_several_components(run: Run, tmp_path: Path) -> None:
    more = bridge_file().replace("[End]", "[Component] HLN-2\n[Pin]\nA1 X in_33\n[End]")
    (tmp_path / "two.ibs").write_text(more)
    answer = run("chip", "two.ibs")
    assert answer.code == MISUSED
    assert "name one with --component: HLN-4410, HLN-2" in answer.err
    assert run("chip", "two.ibs", "--component", "hln-2").code == DONE
    answer = run("chip", "two.ibs", "--component", "HLN-3")
    assert answer.code == MISUSED
    assert "it has: HLN-4410, HLN-2" in answer.err


def test_what_is_no_ibis_file(run: Run, tmp_path: Path) -> None:
    assert run("chip", "none.ibs").code == MISUSED
    (tmp_path / "text.ibs").write_text("nothing")
    answer = run("chip", "text.ibs")
    assert answer.code == FOUND
    assert "no [Component]" in answer.err
    (tmp_path / "models.ibs").write_text("[IBIS Ver] 4.2\n[Model] m\n[End]\n")
    answer = run("chip", "models.ibs")
    assert answer.code == MISUSED
    assert "describes no component" in answer.err
