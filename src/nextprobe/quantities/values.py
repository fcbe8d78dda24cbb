"""Values of parts as schematics, bills of materials and technicians write them.

The letter in place of the decimal point (``4k7``, ``2u2``, ``0R5``) is the code of IEC 60062.
A bare number is taken as ohms where ohms are asked for, unless it is more likely to be the
marking printed on a part (``472`` is no preferred value of IEC 60063, but the marking of 4.7 kΩ).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from nextprobe.errors import Finding, Severity
from nextprobe.quantities.preferred import is_preferred
from nextprobe.quantities.units import Unit

Hint = Literal["ohm", "farad", "henry"]


@dataclass(frozen=True)
class ParsedValue:
    """What a value text says.

    Parameters
    ----------
    value : float or None
        The main value [ohm, farad or henry]; None where it can not be read.
    unit : Unit or None
        Unit of `value`. It may differ from what was asked for in one case: ohms where henries
        were expected are the mark of a ferrite.
    not_fitted : bool
        Whether the text says that the part is left out.
    finding : Finding or None
        Why there is no value, or what to look at.
    """

    value: float | None = None
    unit: Unit | None = None
    not_fitted: bool = False
    finding: Finding | None = None


_NUMBER = r"\d+(?:[.,]\d+)?|[.,]\d+"
_OHM = r"R|r|Ω|\u2126|[oO][hH][mM][sS]?|OHM"
_PREFIX = r"[pPnNuUµ\u03bcmkKMGgT]|[mM][eE][gG]"
_QUANTITY = re.compile(
    rf"(?P<number>{_NUMBER})(?:[eE](?P<power>-\d{{1,2}}))?"
    rf"(?P<prefix>{_PREFIX})?(?P<unit>{_OHM}|[fFhH])?(?P<tolerance>J)?"
)
_CODED = re.compile(
    rf"(?P<whole>\d*)(?P<letter>[pPnNuUµ\u03bcmkKMGRrΩ])(?P<part>\d+)"
    rf"(?P<unit>{_OHM}|[fFhH])?(?P<tolerance>J)?"
)
_BARE = re.compile(_NUMBER)
_SIZE = re.compile(r"(?:[A-Za-z]{1,4}[-]?)?(?:01005|0\d{3}|1206|1210|1806|1812|2010|2220|2512)")
_NOT_FITTED = re.compile(
    r"(?<![A-Za-z0-9])(?:NA|N/A|NC|N/C|DN[PIFMSAL]|NF|NM|NP|NI|NU|no[ _-]?(?:fit|pop|stuff|mount)"
    r"|no[ _-]?load|un(?:fitted|populated|placed|mounted)|n\.[abcm]\."
    r"|(?:do[ _-]?not|not)[ _-]?(?:fit|place|populate|mount|stuff|install|use)(?:ted|ed|d)?)"
    r"(?![A-Za-z0-9])",
)
_NOT_FITTED_ANY_CASE = re.compile(_NOT_FITTED.pattern.replace("|NF|NM", ""), re.IGNORECASE)
_SPACED = re.compile(
    rf"(?<=\d)\s+(?=(?:(?:{_PREFIX})?(?:{_OHM}|[FH]|V|W|A|Hz)|{_PREFIX}|%)(?![A-Za-z0-9]))"
)
_WATTS = re.compile(r"\d+/\d+\s*W\b", re.IGNORECASE)
_SEPARATORS = re.compile(r"[\s/_@|();:\[\]{}~]+|,(?!\d)|(?<!\d),(?=\D)|(?<=[A-Za-zΩ%]),|\+/-|±")
_RANGE = re.compile(
    rf"(?<![\w.,])(?:{_NUMBER})\s*(?:/|-|–|\.\.+|…|to)\s*(?:{_NUMBER})\s*(?:{_PREFIX})?(?:{_OHM}|[FH])(?![A-Za-z0-9])",
    re.IGNORECASE,
)
_ARRAY = re.compile(rf"(?<![\w.,])\d{{1,2}}\s?[x×*]\s?(?=(?:{_NUMBER})(?:{_PREFIX}|{_OHM}))")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?!\d)")

_EXPONENTS = {"p": -12, "n": -9, "u": -6, "µ": -6, "\u03bc": -6, "k": 3, "g": 9, "t": 12, "meg": 6}
_POSSIBLE: dict[Unit, tuple[float, float]] = {
    "ohm": (1e-5, 1e10),
    "farad": (1e-14, 10.0),
    "henry": (1e-11, 10.0),
}


class _UnreadableError(Exception):
    """A segment that looks like a value and can not be trusted."""


def parse_value(text: str, hint: Hint | None = None) -> ParsedValue:
    """Read the main value of a part.

    Parameters
    ----------
    text : str
        Words such as ``100nF/6.3V``, ``R0402_4R7_1%`` or ``NA(2k/1%)``.
    hint : {"ohm", "farad", "henry"} or None
        The unit that the kind of part calls for.

    Returns
    -------
    ParsedValue
        The value is None, with a finding, wherever the text could mean two things.
    """
    left_out = bool(_NOT_FITTED.search(_close_up(text)) or _NOT_FITTED_ANY_CASE.search(text))
    if not text.strip():
        return ParsedValue()
    plain = _ARRAY.sub(" ", _close_up(text)) if hint == "ohm" else _close_up(text)
    try:
        if _RANGE.search(plain):
            raise _UnreadableError("it is a range")
        found = _candidates(plain, hint)
    except _UnreadableError as trouble:
        return ParsedValue(not_fitted=left_out, finding=_finding(text, str(trouble)))
    if len(found) > 1:
        return ParsedValue(not_fitted=left_out, finding=_finding(text, "it holds several values"))
    if not found:
        finding = None if left_out else _nothing_found(text)
        return ParsedValue(not_fitted=left_out, finding=finding)
    value, unit = found.pop()
    return _checked(text, value, unit, hint, left_out)


def _close_up(text: str) -> str:
    return _SPACED.sub("", _WATTS.sub(" ", text.strip()))


def _finding(text: str, why: str, severity: Severity = Severity.WARNING) -> Finding:
    return Finding(
        f"no value can be read from {text.strip()!r}: {why}",
        remedy="write one value with its unit, as in 4k7, 100n or 2.2uH",
        severity=severity,
    )


def _nothing_found(text: str) -> Finding:
    if any(character.isdigit() for character in text):
        return _finding(text, "nothing in it looks like a value")
    return _finding(text, "it has no number", Severity.NOTE)


def _checked(text: str, value: float, unit: Unit, hint: Hint | None, left_out: bool) -> ParsedValue:
    ferrite = hint == "henry" and unit == "ohm"
    if hint is not None and unit != hint and not ferrite:
        why = f"it is in {unit}, where {hint} was expected"
        return ParsedValue(not_fitted=left_out, finding=_finding(text, why))
    low, high = _POSSIBLE[unit]
    if not (low <= value <= high or (unit == "ohm" and value == 0)):
        why = f"no part has {value:g} {unit}"
        return ParsedValue(not_fitted=left_out, finding=_finding(text, why))
    return ParsedValue(value, unit, left_out)


def _candidates(text: str, hint: Hint | None) -> set[tuple[float, Unit]]:
    segments = [segment for segment in _SEPARATORS.split(text) if segment]
    sized = [s for s in segments if not _SIZE.fullmatch(s)]
    if not sized and segments and segments[0][0].isdigit():
        raise _UnreadableError("it is the size of a package")
    with_unit = {_segment(s, hint) for s in sized if not _BARE.fullmatch(s)} - {None}
    found = with_unit or {_bare(s, hint) for s in sized if _BARE.fullmatch(s)}
    return {value for value in found if value is not None}


def _segment(segment: str, hint: Hint | None) -> tuple[float, Unit] | None:
    """Read one segment; None if it is about something else (a voltage, a tolerance)."""
    if _THOUSANDS.match(segment):
        raise _UnreadableError("the comma could be a decimal or a thousands mark")
    if match := _CODED.fullmatch(segment):
        number = f"{match['whole'] or '0'}.{match['part']}"
        unit_text = match["unit"] or ("R" if match["letter"] in "RrΩ" else "")
        prefix = "" if match["letter"] in "RrΩ" else match["letter"]
        return _scaled(number, None, prefix, unit_text, hint)
    if match := _QUANTITY.fullmatch(segment):
        number = match["number"].replace(",", ".")
        prefix, unit_text = match["prefix"] or "", match["unit"] or ""
        return _scaled(number, match["power"], prefix, unit_text, hint)
    return None


def _bare(segment: str, hint: Hint | None) -> tuple[float, Unit]:
    number = segment.replace(",", ".")
    if _THOUSANDS.match(segment):
        raise _UnreadableError("the comma could be a decimal or a thousands mark")
    if hint != "ohm":
        raise _UnreadableError("a number without a unit")
    if number.isdigit() and len(number) > 1 and number[0] == "0":
        raise _UnreadableError("a number that starts with 0")
    if number.isdigit() and len(number) >= 3 and not is_preferred(float(number)):
        raise _UnreadableError("it may be the marking of a part rather than ohms")
    return float(Decimal(number)), "ohm"


def _scaled(
    number: str, power: str | None, prefix: str, unit_text: str, hint: Hint | None
) -> tuple[float, Unit]:
    unit = _unit(prefix, unit_text, hint)
    exponent = _exponent(prefix, unit_text, unit) + int(power or 0)
    return float(Decimal(number).scaleb(exponent)), unit


def _unit(prefix: str, unit_text: str, hint: Hint | None) -> Unit:
    if unit_text in ("F", "f"):
        return "farad"
    if unit_text in ("H", "h"):
        return "henry"
    if unit_text or prefix.lower() in ("k", "g", "t", "meg") or prefix == "M":
        return "ohm"
    if hint is None or (hint == "ohm" and prefix):
        raise _UnreadableError(f"{prefix!r} without a unit")
    return hint


def _exponent(prefix: str, unit_text: str, unit: Unit) -> int:
    if prefix == "M" and unit != "ohm":
        raise _UnreadableError("M could be mega, milli or micro here")
    if prefix == "M":
        return 6
    if prefix == "m":
        if unit == "ohm" and not unit_text:
            raise _UnreadableError("m without a unit could be milli or mega")
        return -3
    return _EXPONENTS[prefix.lower()] if prefix else 0
