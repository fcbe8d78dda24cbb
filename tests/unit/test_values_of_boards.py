"""Strings of values as boards have them; the marks are common practice, no published source."""

from __future__ import annotations

import pytest

from nextprobe.quantities import parse_value

READ = [
    ("4,7K", "ohm", 4700.0),
    ("3,3", "ohm", 3.3),
    ("10kR", "ohm", 10e3),
    ("R0402_4R7_1%_0.0625W_200PPM", "ohm", 4.7),
    ("R0402_0R_JUMPER", "ohm", 0.0),
    ("8x10K", "ohm", 10e3),
    ("4 x 33R", "ohm", 33.0),
    ("1k 1/16W", "ohm", 1000.0),
    ("600R@100MHz", "ohm", 600.0),
    ("FB0805/600R/2A", "ohm", 600.0),
    ("220@100MHz 1.4A", "ohm", 220.0),
    ("0.1uF 100V", "farad", 1e-7),
    ("22uF/25V", "farad", 22e-6),
    ("CC0402_100NF_25V_10%_X7R", "farad", 100e-9),
    ("10uF/6V3/X5R", "farad", 10e-6),
    ("IND_1.5UH_20%", "henry", 1.5e-6),
    ("6.8uH/4A", "henry", 6.8e-6),
]

UNREAD = [
    ("5/30pF", "farad"),
    ("5-30 pF", "farad"),
    ("2…10pF", "farad"),
    ("22OnF", "farad"),
    ("0", "farad"),
    ("2x100nF", "farad"),
    ("470ns", "henry"),
    ("22uF", "henry"),
    ("BLM18PG121SN1D", "henry"),
    ("350mA", "ohm"),
    ("R", "ohm"),
]


@pytest.mark.parametrize(("text", "hint", "value"), READ)
def test_read(text, hint, value) -> None:
    assert parse_value(text, hint).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "hint"), UNREAD)
def test_unread_is_better_than_wrong(text, hint) -> None:
    parsed = parse_value(text, hint)
    assert parsed.value is None and parsed.finding is not None


@pytest.mark.parametrize(
    "text", ["10k n.c.", "unpopulated", "10k no load", "100n (not used)", "NA(2k/1%)", "DNP"]
)
def test_left_out(text) -> None:
    assert parse_value(text, "ohm").not_fitted
