"""Meter readings as people type them: ``.452``, ``452``, ``OL``, ``gnd``.

In diode mode a whole number of two to four digits is millivolts, and ``OL`` (however it is spelt)
is a state and no number (common practice, no published source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from nextprobe.errors import Finding
from nextprobe.quantities.values import parse_value

MeterUnit = Literal["diode", "volt", "ohm", "farad"]
MeterWord = Literal["over-range", "ground", "not connected"]

DIODE_LIMIT = 4.0
VOLT_LIMIT = 60.0

_OVER = re.compile(
    r"\.?[o0]\.?l\.?(?:\s*(?:m?v|[km]?(?:ohm|Ω)))?|over(?:[ -]?(?:range|load|flow))?|open|inf|∞",
    re.IGNORECASE,
)
_GROUND = re.compile(r"[adp]?gnd|ground|earth|vss", re.IGNORECASE)
_UNCONNECTED = re.compile(r"n\.?/?c\.?|dnc|not[ -]?connected|no[ -]?connect(?:ion)?", re.IGNORECASE)
_SHORT = re.compile(r"shorted|short|sc|s/c", re.IGNORECASE)
_SKIPPED = re.compile(r"|-+|[–—]+|\?|n/?a|skip(?:ped)?", re.IGNORECASE)
_VOLTS = re.compile(
    r"(?P<sign>[-+−]?)(?P<number>\d+(?:[.,]\d*)?|[.,]\d+)\s*(?P<unit>[mµu]?v(?:olts?|dc)?)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ReadingText:
    """What a typed reading says.

    Parameters
    ----------
    value : float, str or None
        The number [V, ohm or F], a word for a state, or None if there is none to be had.
    finding : Finding or None
        What is wrong with the text. None, with no value, means that nothing was written.
    """

    value: float | MeterWord | None = None
    finding: Finding | None = None


def parse_meter_text(
    text: str, unit_expected: MeterUnit, bare_unit: Literal["V", "mV"] | None = None
) -> ReadingText:
    """Read what somebody typed from a meter.

    Parameters
    ----------
    text : str
        ``0.452 V``, ``452``, ``0,452``, ``OL``, ``gnd``, ``short``, ``nc``, ``-``, ``4k7``, …
    unit_expected : {"diode", "volt", "ohm", "farad"}
        What the meter is set to; ``volt`` is a DC voltage on a powered board.
    bare_unit : {"V", "mV"} or None
        Unit of volts written without one, where a column heading says so.

    Returns
    -------
    ReadingText
        A reading in another unit, of an absurd size or with two meanings is a finding.
    """
    words = " ".join(text.split())
    state = _state(words)
    if state is not None:
        return state
    if unit_expected in ("ohm", "farad"):
        return _other(words, unit_expected)
    return _volts(words, unit_expected == "diode", bare_unit)


def _state(words: str) -> ReadingText | None:
    if _SKIPPED.fullmatch(words):
        return ReadingText()
    if _OVER.fullmatch(words):
        return ReadingText("over-range")
    if _GROUND.fullmatch(words):
        return ReadingText("ground")
    if _UNCONNECTED.fullmatch(words):
        return ReadingText("not connected")
    if _SHORT.fullmatch(words):
        return ReadingText(0.0)
    return None


def _trouble(words: str, why: str, remedy: str) -> ReadingText:
    return ReadingText(finding=Finding(f"{words!r} is no reading: {why}", remedy=remedy))


def _other(words: str, unit: Literal["ohm", "farad"]) -> ReadingText:
    if re.fullmatch(r"[-−]\s*[\d.,].*", words):
        return _trouble(words, f"{unit}s are never negative", "measure again")
    if unit == "ohm" and re.fullmatch(r"\d+", words):
        return ReadingText(float(words))
    parsed = parse_value(words, unit)
    if parsed.value is None:
        example = "4.7k or 452" if unit == "ohm" else "100n"
        return _trouble(words, f"{unit}s were expected", f"write {unit}s, as in {example}, or OL")
    return ReadingText(parsed.value)


def _volts(words: str, diode: bool, bare_unit: str | None) -> ReadingText:
    match = _VOLTS.fullmatch(words)
    if match is None:
        return _not_volts(words)
    if re.fullmatch(r"1[.,]?", words) and diode and bare_unit is None:
        why = "some meters show a lone 1 for over-range"
        return _trouble(words, why, "write OL, or 1.000 for one volt")
    number = Decimal(f"0{match['number'].replace(',', '.')}")
    unit = (match["unit"] or bare_unit or "").lower()
    if unit.startswith("v") or (not unit and not diode):
        value = number
    elif unit:
        value = number.scaleb(-3 if unit.startswith("m") else -6)
    else:
        return _shorthand(words, number, match["sign"])
    if bare_unit == "mV" and not match["unit"] and 0 < number < 2:
        return _trouble(words, "less than 2 mV", "if it is volts, write the V")
    return _sized(words, -value if match["sign"] in ("-", "−") else value, diode)


def _not_volts(words: str) -> ReadingText:
    if parse_value(words, "ohm").value is not None:
        why = "ohms, where volts were expected"
        return _trouble(words, why, "set the mode to ohms, or write volts, as in 0.452")
    if parse_value(words).value is not None:
        return _trouble(words, "volts were expected", "write volts, as in 0.452")
    return _trouble(words, "it is neither a number nor a state", "write 0.452, 452, OL or gnd")


def _shorthand(words: str, number: Decimal, sign: str) -> ReadingText:
    """Read volts in diode mode that carry no unit."""
    signed = -number if sign in ("-", "−") else number
    if number >= 10:
        return _sized(words, signed.scaleb(-3), diode=True)
    if (
        number == number.to_integral_value()
        and number > 0
        and "." not in words
        and ("," not in words)
    ):
        return _trouble(words, "volts or millivolts?", f"write {words} mV or {words}.0 V")
    return _sized(words, signed, diode=True)


def _sized(words: str, value: Decimal, diode: bool) -> ReadingText:
    limit = DIODE_LIMIT if diode else VOLT_LIMIT
    if value < 0 and diode:
        remedy = "swap the leads, discharge the board and measure again"
        return _trouble(words, "diode mode never shows a negative value on a dead board", remedy)
    if abs(value) > Decimal(str(limit)):
        what = "diode mode" if diode else "a board of a handheld device"
        return _trouble(words, f"{value} V is too much for {what}", "write the unit, as in 452 mV")
    return ReadingText(float(value))
