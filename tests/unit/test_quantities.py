"""Values of parts and readings of meters, as people write them."""

from __future__ import annotations

import math

import pytest

from nextprobe.errors import MisuseError, Severity
from nextprobe.quantities import exact_text, format_value, parse_meter_text, parse_value

READ = [
    ("4k7", "ohm", 4700.0),
    ("0R", "ohm", 0.0),
    ("4R7", "ohm", 4.7),
    ("10K", "ohm", 10e3),
    ("4,7K", "ohm", 4700.0),
    ("3,3", "ohm", 3.3),
    ("1M", "ohm", 1e6),
    ("1MEG", "ohm", 1e6),
    ("5mΩ", "ohm", 5e-3),
    ("4.7 kohm", "ohm", 4700.0),
    ("49.9", "ohm", 49.9),
    ("470", "ohm", 470.0),
    ("600R@100MHz", "ohm", 600.0),
    ("FB0805/600R/2A", "ohm", 600.0),
    ("120ohm/100MHz 500mA", "ohm", 120.0),
    ("R0402_4R7_1%", "ohm", 4.7),
    ("10K 1% 1/16W 0402", "ohm", 10e3),
    ("100n", "farad", 100e-9),
    ("2u2", "farad", 2.2e-6),
    ("100nF/6.3V", "farad", 100e-9),
    ("100nF,6.3V", "farad", 100e-9),
    ("100 nF", "farad", 100e-9),
    ("100NF", "farad", 100e-9),
    ("0,1u", "farad", 100e-9),
    ("22pF ±5% 50V C0G", "farad", 22e-12),
    ("4.7uF 10V X5R", "farad", 4.7e-6),
    ("0.1uF(104) 16V", "farad", 100e-9),
    ("1e-7", "farad", 100e-9),
    ("10u", "henry", 10e-6),
    ("2.2uH", None, 2.2e-6),
]
UNREAD = [
    ("BEAD", "ohm"),
    ("472", "ohm"),  # the marking of 4.7 kΩ, or 472 Ω
    ("0402", "ohm"),
    ("C0402", "farad"),
    ("1m", "ohm"),
    ("1M", "farad"),
    ("4E7", "ohm"),
    ("1,000", "ohm"),
    ("100", "farad"),
    ("100n", None),
    ("10K/4K7", "ohm"),
    ("100nF", "ohm"),
    ("100F", "farad"),
    ("?", "ohm"),
]


@pytest.mark.parametrize(("text", "hint", "value"), READ)
def test_values_are_read(text, hint, value) -> None:
    parsed = parse_value(text, hint)
    assert parsed.value == pytest.approx(value, rel=1e-12)
    assert parsed.finding is None and not parsed.not_fitted


@pytest.mark.parametrize(("text", "hint"), UNREAD)
def test_what_could_mean_two_things_is_a_finding(text, hint) -> None:
    parsed = parse_value(text, hint)
    assert parsed.value is None
    assert parsed.finding is not None and parsed.finding.remedy


def test_a_value_may_be_there_and_not_fitted() -> None:
    parsed = parse_value("NA(2k/1%)", "ohm")
    assert (parsed.value, parsed.not_fitted) == (2000.0, True)


@pytest.mark.parametrize("text", ["DNP", "n/c", "not fitted", "10k DNI", "do not populate"])
def test_marks_of_parts_that_are_left_out(text) -> None:
    assert parse_value(text, "ohm").not_fitted


@pytest.mark.parametrize("text", ["100NF", "10 nF", "NP0 10pF", "NPN"])
def test_what_looks_like_such_a_mark(text) -> None:
    assert not parse_value(text, "farad").not_fitted


def test_ohms_where_henries_were_expected_tell_a_ferrite() -> None:
    assert parse_value("600R@100MHz", "henry").unit == "ohm"


def test_a_word_without_a_number_is_a_note() -> None:
    finding = parse_value("BEAD", "ohm").finding
    assert finding is not None and finding.severity is Severity.NOTE


def test_nothing_written_is_nothing_found() -> None:
    assert parse_value("  ", "ohm").finding is None


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700.0, "ohm", "4.7 kΩ"),
        (1e-7, "farad", "100 nF"),
        (0.452, "volt", "0.452 V"),
        (0.0, "ohm", "0 Ω"),
        (999.9, "ohm", "1 kΩ"),
        (1.2345e-8, "farad", "12.3 nF"),
        (2.2e-6, "henry", "2.2 µH"),
    ],
)
def test_values_for_people(value, unit, text) -> None:
    assert format_value(value, unit) == text


def test_nothing_has_no_sign():
    assert format_value(-0.0001, "volt") == "0.000 V"


@pytest.mark.parametrize("write", [format_value, exact_text])
@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_no_value_is_written_for_what_is_none(write, value) -> None:
    with pytest.raises(MisuseError):
        write(value, "ohm")


DIODE = [
    ("0.452 V", 0.452),
    ("452", 0.452),
    (".452", 0.452),
    ("0,452 V", 0.452),
    ("452mV", 0.452),
    ("452.3", 0.4523),
    ("1.234", 1.234),
    ("0", 0.0),
    ("short", 0.0),
    ("OL", "over-range"),
    ("0L", "over-range"),
    ("O.L", "over-range"),
    ("o.l.", "over-range"),
    ("gnd", "ground"),
    ("nc", "not connected"),
    ("-", None),
    ("", None),
]
TROUBLE = [
    ("1.", "lone 1"),
    ("1", "lone 1"),
    ("5", "volts or millivolts"),
    ("452 V", "too much"),
    ("4520", "too much"),
    ("-0.3", "negative"),
    ("452 ohm", "ohms"),
    ("4k7", "ohms"),
    ("100nF", "volts were expected"),
    ("hello", "neither"),
]


@pytest.mark.parametrize(("text", "value"), DIODE)
def test_diode_readings(text, value) -> None:
    reading = parse_meter_text(text, "diode")
    assert reading.value == value and reading.finding is None


@pytest.mark.parametrize(("text", "why"), TROUBLE)
def test_diode_readings_that_can_not_be(text, why) -> None:
    reading = parse_meter_text(text, "diode")
    assert reading.value is None
    assert reading.finding is not None
    assert why in reading.finding.what and reading.finding.remedy


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("4k7", "ohm", 4700.0),
        ("452", "ohm", 452.0),
        ("472", "ohm", 472.0),
        ("0.3", "ohm", 0.3),
        ("100n", "farad", 100e-9),
        ("3.3", "volt", 3.3),
        ("-5", "volt", -5.0),
        ("1800 mV", "volt", 1.8),
    ],
)
def test_other_modes(text, unit, value) -> None:
    assert parse_meter_text(text, unit).value == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "unit"), [("0.452 V", "ohm"), ("-3", "ohm"), ("100", "farad"), ("452", "volt")]
)
def test_other_modes_refuse(text, unit) -> None:
    assert parse_meter_text(text, unit).finding is not None


def test_a_heading_gives_the_unit() -> None:
    assert parse_meter_text("5", "diode", "mV").value == pytest.approx(0.005)
    assert parse_meter_text("1", "diode", "V").value == 1.0
    assert parse_meter_text("0.452", "diode", "mV").finding is not None
    assert parse_meter_text("452", "diode", "V").finding is not None
