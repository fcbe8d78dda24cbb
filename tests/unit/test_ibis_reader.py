"""IBIS files: what is read, and what is said of what can not be."""

from __future__ import annotations

from pathlib import Path

import pytest
from ibis_files import DATA_LOWER, INPUT_LOWER, bridge_file, corners, table

from nextprobe.errors import Finding, Severity
from nextprobe.readers.ibis import IbisFile, clamps_of, read_ibis, read_ibis_file, usable

SMALL = """[IBIS Ver] 4.2
[Component] A
[Manufacturer] Hollin Works
[Pin] signal_name model_name
1 X m
[Model] m
Model_type Input
{body}
[End]
"""
TABLE = "[GND Clamp]\n-1.0 -20mA NA NA\n-0.5 -1.0uA NA NA\n0 0 NA NA"


def good(text: str) -> IbisFile:
    found, findings = read_ibis(text, "a.ibs")
    assert found is not None
    assert findings == (), [str(item) for item in findings]
    return found


def findings_of(body: str) -> list[Finding]:
    _, findings = read_ibis(SMALL.format(body=body), "a.ibs")
    return list(findings)


def test_pins_models_and_selectors() -> None:
    # Only the first of the selector's models is in the file, which is what its pins take.
    file = good(bridge_file())
    [component] = file.components
    assert (component.name, component.manufacturer) == ("HLN-4410", "Hollin Works")
    assert [pin.model for pin in component.pins] == [
        "POWER", "GND", "data_sel", "data_sel", "in_33", "NC",
    ]  # fmt: skip
    model = file.model_of(component.pins[2])
    assert model is not None
    assert (model.name, model.kind) == ("data_18", "I/O")
    assert model.numbers["c_comp"].typ == pytest.approx(3e-12)
    assert model.numbers["voltage_range"].max == pytest.approx(1.9)
    assert model.typical("temperature_range") == 25.0


def test_drops_are_those_of_the_curves() -> None:
    file = good(bridge_file())
    data, reset = file.models["data_18"], file.models["in_33"]
    assert data.ground_clamp is not None
    assert reset.ground_clamp is not None
    # Log-linear between points 50 mV apart on a curve with 25 ohm: a few millivolts.
    assert data.ground_clamp.drop(1e-3) == pytest.approx(0.463, abs=4e-3)
    assert data.ground_clamp.span(1e-3) == pytest.approx(0.12, abs=8e-3)
    assert reset.ground_clamp.drop(1e-3) == pytest.approx(0.660, abs=4e-3)
    assert reset.ground_clamp.span(1e-3) is None


def test_power_clamp_voltages_are_turned_round() -> None:
    model = good(bridge_file()).models["data_18"]
    assert model.power_clamp is not None
    assert model.power_clamp.drop(1e-3) == pytest.approx(0.730, abs=4e-3)


def test_what_a_meter_can_use() -> None:
    file = good(bridge_file())
    clamps = clamps_of(file, file.components[0])
    assert list(clamps) == ["3", "4", "5"]
    assert clamps["3"].upper is not None
    assert clamps["5"].no_upper
    lower = clamps["5"].lower
    assert lower is not None
    assert lower.emission == pytest.approx(INPUT_LOWER.emission, rel=0.25)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace("[GND Clamp]", "[gnd_clamp]").replace("[Model]", "[MODEL ]"),
        lambda text: text.replace("[Voltage Range]", "[voltage_range]"),
        lambda text: text.replace("\n", f"   | {'wide ' * 60}\n"),
        lambda text: text.replace("|", "#").replace("[Comp", "[Comment Char] #_char\n[Comp", 1),
        lambda text: text.replace("[Voltage Range] 1.8V", "[Voltage Range]\n1.8V"),
        lambda text: text.replace(" ", "\t"),
    ],
    ids=["crlf", "cr", "case", "underscore", "long lines", "comment", "next line", "tabs"],
)
def test_ways_of_writing_the_same(change) -> None:  # type: ignore[no-untyped-def]
    plain, changed = bridge_file(), change(bridge_file())
    if "#" in changed:
        changed = "[Comment Char] #_char\n" + changed.replace("[Comment Char] #_char\n", "")
    file, other = good(plain), good(changed)
    assert clamps_of(other, other.components[0]) == clamps_of(file, file.components[0])


def test_a_table_in_falling_order_is_the_same() -> None:
    rising = SMALL.format(body=TABLE)
    head, *rows = TABLE.split("\n")
    falling = SMALL.format(body="\n".join([head, *reversed(rows)]))
    assert good(rising).models["m"].clamps == good(falling).models["m"].clamps


def test_latin_letters_and_what_is_no_text(tmp_path: Path) -> None:
    file = tmp_path / "a.ibs"
    file.write_bytes(bridge_file().replace("Hollin", "H\xf6llin").encode("latin-1"))
    found, findings = read_ibis_file(file)
    assert found is not None
    assert findings == ()
    assert found.components[0].manufacturer == "H\xf6llin Works"
    file.write_bytes(b"\0\1\2")
    assert read_ibis_file(file)[0] is None
    assert read_ibis_file(tmp_path / "none.ibs")[1][0].what == "there is no such file"


WRONG = [
    ("[GND Clamp]\n-1 -20mA NA NA", "fewer than two points have a typical current", 8),
    ("[GND Clamp]\n-1 NA NA NA\n0 NA NA NA", "fewer than two points have a typical", 8),
    (f"{TABLE}\n-0.5 0 NA NA", "the voltages turn back here", 12),
    ("[GND Clamp]\n-1 -20 mA NA NA\n-.5 -1u NA NA\n0 0 NA NA", "'mA' is no number", 9),
    ("[GND Clamp]\n-1 -20KA NA NA\n-.5 -1u NA NA\n0 0 NA NA", "a scale in the wrong case", 9),
    ("[GND Clamp]\n-1 -1e999 NA NA\n-.5 -1u NA NA\n0 0 NA NA", "is too large", 9),
    ("[GND Clamp]\nNA 0 NA NA\n-.5 -1u NA NA\n0 0 NA NA", "its voltage is NA", 9),
    ("[GND Clamp]\n-1 20mA NA NA\n0 0 NA NA", "flows the wrong way", 8),
    ("[GND Clamp]\n-1 -20mA\n0 0 NA NA", "one line of the table without four columns", 9),
    ("[GND Clamp]\n-1 -20mA -1mA NA\n0 0 NA NA", "fewer than two points have a minimum", 8),
    (f"{TABLE}\n0 0 NA NA", "with the voltage of the line above", 12),
    (f"{TABLE}\n{TABLE}", "given twice in this model", 12),
    (f"[Voltage Range] lots\n{TABLE}", "'lots' is no number, so this is left out", 8),
    ("[GND Clmp]\n-1 -20mA NA NA", "no keyword of this name is known", 8),
    (f"{TABLE}\n[Model] m", "the model is given twice, first on line 6", 12),
    (f"{TABLE}\n[Model]", "a name is missing here", 12),
]


@pytest.mark.parametrize(("body", "what", "line"), WRONG)
def test_mistakes_are_findings_with_a_line(body: str, what: str, line: int) -> None:
    [finding] = [item for item in findings_of(body) if what in item.what]
    assert finding.where.source == "a.ibs"
    assert finding.where.line == line
    assert finding.remedy


def test_headers() -> None:
    said = [item.what for item in read_ibis(bridge_file().replace("3.2", "7.1"))[1]]
    assert said == ["version 7.1 is newer than what was written for"]
    said = [item.what for item in read_ibis(bridge_file().replace("[IBIS Ver]", "[Date]"))[1]]
    assert said == ["no version"]
    said = [item.what for item in read_ibis(bridge_file().replace("[End]", ""))[1]]
    assert said == ["there is no [End], so the file may have been cut off"]
    found, findings = read_ibis("(kicad_pcb)")
    assert found is None
    assert [item.what for item in findings] == ["there is no [Component] and no [Model] in it"]


def test_pins_that_lead_nowhere_are_said_once() -> None:
    text = bridge_file().replace("SPARE   NC", "SPARE   gone").replace("in_33  0.05", "gone  0.05")
    _, findings = read_ibis(text)
    [finding] = findings
    assert finding.what == "2 pins are of the model gone, which the file does not have"
    assert (finding.where.line, finding.severity) == (15, Severity.WARNING)


def test_tables_of_a_submodel_are_not_those_of_the_model_above() -> None:
    body = f"{TABLE}\n[Add Submodel]\ndynamic Non-Driving\n[Submodel] dynamic\n[GND Clamp]\n0 1 1 1"
    model = good(SMALL.format(body=body)).models["m"]
    assert model.submodels == ("dynamic",)
    assert model.ground_clamp is not None


NOT_USED = [
    (f"[GND Clamp Reference] -5V -5V -5V\n{TABLE}", "it conducts to -5 V, not to ground"),
    ("[GND Clamp]\n-1 -0.5mA NA NA\n0 0 NA NA", "its table reaches 0.5 mA, not 1 mA"),
    ("[GND Clamp]\n-1 -10mA NA NA\n0 0 NA NA", "it drops too little: a termination that needs"),
    ("[GND Clamp]\n-1 -1 NA NA", "its table can not be used"),
    ("", "it has no table"),
    ("[Add Submodel]\ndynamic Non-Driving", "its tables are in a submodel, if anywhere"),
]


@pytest.mark.parametrize(("body", "why"), NOT_USED)
def test_clamps_that_a_meter_does_not_meet(body: str, why: str) -> None:
    file, _ = read_ibis(SMALL.format(body=body))
    assert file is not None
    found = usable(file.models["m"])
    assert found.lower is None
    assert found.why.startswith(why)


def upper(kind: str, body: str) -> bool:
    text = SMALL.replace("Model_type Input", f"Model_type {kind}").format(body=body)
    file, _ = read_ibis(text)
    assert file is not None
    return usable(file.models["m"]).no_upper


def test_when_the_upper_clamp_is_missing() -> None:
    weak = "[POWER Clamp]\n-1.8 10uA NA NA\n0 0 NA NA"
    short = "[POWER Clamp]\n-0.3 1uA NA NA\n0 0 NA NA"
    assert upper("Input", TABLE)
    assert upper("I/O", TABLE)
    assert upper("Output", f"{TABLE}\n{weak}")
    assert not upper("Output", TABLE), "outputs need not have clamp tables"
    assert not upper("Input", f"{TABLE}\n{short}"), "the table ends before a clamp conducts"
    assert not upper("Input", ""), "without any clamp table nothing is said"


def test_corners_and_temperature_make_the_spread() -> None:
    def spread(columns: list, more: str = "") -> float:
        body = f"{more}\n{table('GND Clamp', columns)}"
        file = good(SMALL.format(body=body))
        clamp = clamps_of(file, file.components[0])["1"].lower
        assert clamp is not None
        return clamp.spread

    narrow, wide = corners(DATA_LOWER, 0.06), corners(DATA_LOWER, 0.24)
    assert 0.030 < spread(narrow) < spread(wide) < 0.060
    assert spread(wide) < spread(wide, "[Temperature Range] 50 85 0")
    assert spread([DATA_LOWER, None, None]) == pytest.approx(
        spread(corners(DATA_LOWER, 0.16)), abs=2e-3
    )
