"""Preferred values and their code.

IEC 60063:2015, Preferred number series for resistors and capacitors: series E24 and E96 (as listed
at www.qsl.net/g4usp/Components/Component%20preferred%20values.htm, the last values of E96 from
memory). IEC 60062:2016, Marking codes for resistors and capacitors: examples of the letter code as
quoted in the article "RKM code" of Wikipedia.
"""

from __future__ import annotations

import pytest

from nextprobe.quantities import parse_value
from nextprobe.quantities.preferred import is_preferred

E24 = "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"
E96 = """
100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174
178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309
316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549
562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976
"""
LETTER_CODES = {
    "R47": 0.47,
    "4R7": 4.7,
    "470R": 470.0,
    "4K7": 4.7e3,
    "47K": 47e3,
    "47K3": 47.3e3,
    "470K": 470e3,
    "4M7": 4.7e6,
}


def test_exactly_the_values_of_e24_and_e96_are_preferred() -> None:
    listed = {int(value) for value in E96.split()} | {10 * int(value) for value in E24.split()}
    assert {value for value in range(100, 1000) if is_preferred(value)} == listed


@pytest.mark.parametrize("decade", range(-3, 6))
def test_every_decade_holds_the_same_values(decade: int) -> None:
    assert all(is_preferred(int(value) * 10.0**decade) for value in E96.split())
    assert not is_preferred(472 * 10.0**decade)


@pytest.mark.parametrize(("text", "ohms"), LETTER_CODES.items())
def test_letter_code(text: str, ohms: float) -> None:
    assert parse_value(text, "ohm").value == ohms


@pytest.mark.parametrize("letter", ["p", "n", "u", "µ"])
@pytest.mark.parametrize("value", E24.split())
def test_letter_code_of_every_e24_capacitor(value: str, letter: str) -> None:
    scale = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6}[letter]
    text = f"{value[0]}{letter}{value[1]}"
    assert parse_value(text, "farad").value == pytest.approx(int(value) / 10 * scale, rel=1e-12)
