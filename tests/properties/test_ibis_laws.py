"""IBIS files: any text is taken, and what is read obeys the laws of tables."""

from __future__ import annotations

import re

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ibis_files import VOLTS, bridge_file, table

from nextprobe.circuit.clamp_table import ClampTable
from nextprobe.circuit.defaults import junction_of_drop
from nextprobe.circuit.junction_fit import fit_for_meter
from nextprobe.readers.ibis import clamps_of, pin_clamps, read_ibis, usable

WHOLE = bridge_file()
PIECES = st.sampled_from(
    ["[IBIS Ver] 4.2\n", "[Component] A\n", "[Component]\n", "[Pin]\n", "1 X m\n", "1 X GND\n",
     "[Model] m\n", "[Model] n\n", "[Model]\n", "[Model Selector] m\n", "n\n", "[Submodel] s\n",
     "[GND Clamp]\n", "[POWER_clamp]\n", "[gnd clamp reference] -5V NA NA\n", "[End]\n",
     "[Add Submodel]\n", "[Comment Char] #_char\n", "[Comment Char]\n", "Model_type Input\n",
     "C_comp = 3pF NA NA\n", "C_comp\n", "[Voltage Range] 1.8\n", "[Temperature Range] x\n",
     "-1 -20mA NA NA\n", "-0.5 -1u NA -2u\n", "0 0 0 0\n", "0.5 NA NA NA\n", "1.2\n", "-2 -1e999\n",
     "|", "#", "[", "]", "[]", "[ ]", "\r", "\n", "\t", " ", "\x00", "\x85", "NA", "1mA", "µ", "²",
     "-9 -9KA 0 0\n", "1e-99 1e308 0 0\n", "-1 -1e308 0 0\n", "٣ ٣ ٣ ٣\n"]
)  # fmt: skip
TEXTS = st.one_of(
    st.text(),
    st.lists(PIECES, max_size=60).map("".join),
    st.lists(PIECES, max_size=30).map(lambda pieces: "[Model] m\n" + "".join(pieces)),
)


def take(text: str) -> None:
    """Read a text and use all that comes of it."""
    file, findings = read_ibis(text, "a.ibs")
    lines = len(re.split(r"\r\n|\r|\n", text))
    assert all(item.remedy and item.what for item in findings)
    assert all(item.where.line and 1 <= item.where.line <= lines for item in findings)
    if file is None:
        assert findings
        return
    for model in file.models.values():
        found, clamps = usable(model), pin_clamps(model)
        assert (found.lower is None) == (clamps.lower is None) == bool(found.why)
        assert not (found.no_upper and found.upper is not None)
    for component in file.components:
        assert set(clamps_of(file, component)) <= {pin.number for pin in component.pins}


@given(TEXTS)
@settings(max_examples=400, deadline=None)
def test_any_text_is_taken(text: str) -> None:
    take(text)


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_any_damage_is_taken(data: st.DataObject) -> None:
    text = WHOLE
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.integers(0, 40))
        text = text[:at] + data.draw(st.one_of(st.text(max_size=8), PIECES)) + text[at + gone :]
    take(text)


DROPS = st.floats(0.3, 1.1)
EMISSIONS = st.floats(1.0, 3.0)
SERIES = st.floats(1.0, 80.0)


@given(DROPS, EMISSIONS, SERIES, st.sampled_from(["GND Clamp", "POWER Clamp"]))
@settings(max_examples=60, deadline=None)
def test_what_is_written_is_read_with_its_sign(
    drop: float, emission: float, series: float, keyword: str
) -> None:
    model = junction_of_drop(drop, emission, series)
    text = (
        f"[IBIS Ver] 4.2\n[Model] m\nModel_type I/O\n{table(keyword, [model, None, None])}\n[End]"
    )
    file, findings = read_ibis(text)
    assert findings == ()
    assert file is not None
    read = file.models["m"]
    clamp = read.ground_clamp if keyword == "GND Clamp" else read.power_clamp
    assert clamp is not None
    assert clamp.typ.volts[0] == min(VOLTS)
    assume(clamp.typ.reaches(1e-3))
    # Points are 50 mV apart: log-linear interpolation is off by less than that.
    assert abs(clamp.typ.drop(1e-3) - drop) < 0.02


CURVES = st.lists(
    st.tuples(st.floats(-2.0, 3.0), st.floats(-0.1, 0.1)), min_size=2, max_size=12
).map(lambda points: sorted(dict(points).items()))


@given(CURVES, st.floats(1e-7, 0.05))
@settings(max_examples=300, deadline=None)
def test_drop_and_current_are_inverse(curve: list[tuple[float, float]], current: float) -> None:
    assume(len(curve) >= 2)
    made = ClampTable(tuple(v for v, _ in curve), tuple(i for _, i in curve))
    if not made.reaches(current):
        return
    drop = made.drop(current)
    assert 0.0 < drop <= made.volts[-1]
    # A voltage is known to about one part in 1e16 of a step in which the current may rise steeply.
    assert abs(made.current(drop) - current) <= 1e-9 * max(current, 0.1) or _is_steep(made, drop)
    assert made.reach >= current * (1.0 - 1e-12)


def _is_steep(made: ClampTable, drop: float) -> bool:
    near = min(abs(drop - volts) for volts in made.volts)
    return near < 1e-9


@given(CURVES)
@settings(max_examples=300, deadline=None)
def test_any_table_has_a_fit_or_none(curve: list[tuple[float, float]]) -> None:
    assume(len(curve) >= 2)
    found = fit_for_meter(ClampTable(tuple(v for v, _ in curve), tuple(i for _, i in curve)))
    if found is None:
        return
    assert 0.0 <= found.residual <= found.worst * (1.0 + 1e-12)
    assert found.model.saturation > 0.0
    assert found.model.emission >= 0.5 * (1.0 - 1e-9)
    assert found.model.series > 0.0
