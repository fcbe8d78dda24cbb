"""What is written is read again; what can not be read is said, never raised."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nextprobe.quantities import (
    MeterUnit,
    exact_text,
    format_value,
    parse_meter_text,
    parse_value,
)

RANGES = {"ohm": (1e-5, 1e10), "farad": (1e-14, 10.0), "henry": (1e-11, 10.0)}
UNITS = st.sampled_from(sorted(RANGES))
SIZED = UNITS.flatmap(lambda unit: st.tuples(st.just(unit), st.floats(*RANGES[unit])))
HINTS = st.one_of(st.none(), UNITS)
TEXTS = st.one_of(st.text(), st.text("0123456789.,RKMkmunpFHVOLol @/_%-()'²٣ "))


@given(SIZED, st.booleans())
def test_exact_text_reads_back_exactly(sized, with_hint) -> None:
    unit, value = sized
    parsed = parse_value(exact_text(value, unit), unit if with_hint else None)
    assert (parsed.value, parsed.unit) == (value, unit)


@given(SIZED, st.integers(2, 6))
def test_text_for_people_reads_back_as_far_as_it_goes(sized, digits) -> None:
    unit, value = sized
    parsed = parse_value(format_value(value, unit, digits), unit)
    assert parsed.value == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


@given(st.integers(0, 4000))
def test_millivolts_read_back_in_every_spelling(millivolts) -> None:
    value = millivolts / 1000
    shown = format_value(value, "volt")
    for text in (shown, shown.replace(".", ","), f"{millivolts} mV", f"{value:.3f}"):
        assert parse_meter_text(text, "diode").value == pytest.approx(value)


@given(TEXTS, HINTS)
def test_any_value_text_gives_a_value_or_a_reason(text, hint) -> None:
    parsed = parse_value(text, hint)
    said = parsed.finding is not None or parsed.not_fitted or not text.strip()
    assert said or parsed.value is not None
    assert (parsed.value is None) == (parsed.unit is None)
    if parsed.value is not None:
        low, high = RANGES[parsed.unit]
        assert low <= parsed.value <= high or (parsed.unit, parsed.value) == ("ohm", 0.0)


@given(TEXTS, st.sampled_from(get_args(MeterUnit)), st.sampled_from([None, "V", "mV"]))
def test_any_reading_text_gives_a_reading_or_a_reason(text, unit, bare) -> None:
    reading = parse_meter_text(text, unit, bare)
    assert reading.value is None or reading.finding is None
    if unit == "diode" and isinstance(reading.value, float):
        assert 0 <= reading.value <= 4.0
