"""Readings as a person or a script enters them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from difflib import get_close_matches

from nextprobe.board import OVER_RANGE, Board, Meter, MeterMode, OverRange
from nextprobe.diagnosis.measuring import Measurement, measurement_of
from nextprobe.errors import DataError, Finding, MisuseError, Severity, Where
from nextprobe.quantities import MeterUnit, parse_meter_text

Entered = str | float | OverRange

UNITS: Mapping[MeterMode, MeterUnit] = {
    MeterMode.DIODE: "diode",
    MeterMode.OHMS: "ohm",
    MeterMode.LOW_OHMS: "ohm",
    MeterMode.CONTINUITY: "ohm",
    MeterMode.CAPACITANCE: "farad",
    MeterMode.DC_VOLTS: "volt",
}


_ALSO = {"volts": "dc volts", "volt": "dc volts", "diode mode": "diode", "low ohm": "low ohms"}
_BEEPS: Mapping[str, Entered] = {
    "beep": 0.0,
    "beeps": 0.0,
    "no beep": OVER_RANGE,
    "silent": OVER_RANGE,
}
_CURRENT = re.compile(r"(\d+(?:[.,]\d*)?|[.,]\d+)\s*([munµ]?)a?(?:mps?)?", re.IGNORECASE)
_SIZES = {"": 1.0, "m": 1e-3, "u": 1e-6, "µ": 1e-6, "n": 1e-9}


def mode_of(word: str | MeterMode) -> MeterMode:
    """Return the meter mode that a word means.

    Raises
    ------
    MisuseError
        If there is no such mode.
    """
    plain = str(word).strip().lower().replace("-", " ").replace("_", " ")
    plain = _ALSO.get(plain, plain)
    try:
        return MeterMode(plain)
    except ValueError:
        known = ", ".join(MeterMode)
        raise MisuseError(f"'{word}' is not a meter mode; known here: {known}") from None


def entered_value(
    entered: Entered, mode: MeterMode, point: str, meter: Meter | None = None
) -> float | OverRange:
    """Return the value that was entered [V, ohm or F].

    Raises
    ------
    DataError
        If it is no reading in this mode: another unit, an absurd size, nothing at all.
    """
    where = Where(name=point)
    if isinstance(entered, OverRange):
        return entered
    if isinstance(entered, str) and mode is MeterMode.CONTINUITY:
        entered = _BEEPS.get(" ".join(entered.split()).lower(), entered)
    if isinstance(entered, OverRange):
        return entered
    if isinstance(entered, str):
        value = _from_text(entered, mode, where)
    else:
        value = _from_number(float(entered), mode, where)
    full_scale = (meter or Meter()).range_for(mode).full_scale
    if not isinstance(value, OverRange) and value > full_scale:
        what = f"{entered} is beyond the range of the meter, which ends at {full_scale:g}"
        raise DataError([Finding(what, where, "write OL, or look at the unit")])
    return value


def _from_text(text: str, mode: MeterMode, where: Where) -> float | OverRange:
    read = parse_meter_text(text, UNITS[mode])
    if read.finding is not None:
        raise DataError([Finding(read.finding.what, where, read.finding.remedy)])
    if read.value == "over-range":
        return OVER_RANGE
    if read.value == "ground":
        return 0.0
    if not isinstance(read.value, float):
        raise DataError([Finding(f"'{text}' is no reading", where, "write 0.452, 452 or OL")])
    return read.value


def _from_number(number: float, mode: MeterMode, where: Where) -> float:
    sized = math.isfinite(number) and (number >= 0.0 or mode is MeterMode.DC_VOLTS)
    if not sized:
        remedy = "give a number that is not negative, or OL for over-range"
        raise DataError([Finding(f"{number} is no reading in {mode} mode", where, remedy)])
    if mode is MeterMode.DIODE:
        read = parse_meter_text(f"{number:.6f} V", "diode")
        if read.finding is not None:
            raise DataError([Finding(read.finding.what, where, "give volts, as in 0.452")])
    return number


def entered_current(entered: object, step: str, limit: float) -> float:
    """Return the current that was entered [A], up to the limit of the supply.

    Raises
    ------
    DataError
        If it is no current.
    """
    where, remedy = Where(name=step), "write it as in 0.18 A or 4 mA, or OL at the limit"
    if isinstance(entered, OverRange):
        return limit
    if isinstance(entered, int | float):
        amperes = float(entered)
    else:
        text = " ".join(str(entered).split())
        if text.lower() in ("ol", "limit", "at the limit"):
            return limit
        read = _CURRENT.fullmatch(text)
        if read is None:
            raise DataError([Finding(f"'{text}' is no current", where, remedy)])
        amperes = float(read[1].replace(",", ".")) * _SIZES[read[2].lower()]
    if not (math.isfinite(amperes) and 0.0 <= amperes <= 20.0):
        raise DataError([Finding(f"{entered} is no current of a bench supply", where, remedy)])
    return min(amperes, limit)


def known_measurement(
    place: str, mode: MeterMode, board: Board | None
) -> tuple[Measurement, list[Finding]]:
    """Return the measurement that a place means, with a warning where no board knows it.

    Besides a pin or a net, a two-pin part stands for a measurement across it, and two points
    joined by ``~`` for one between them.
    """
    plain = place.strip()
    found: list[Finding] = []
    if board is not None and mode is not MeterMode.DIODE:
        part = plain if plain in board.by_reference else plain.upper()
        if part in board.by_reference and not board.has_point(plain):
            item = measurement_of(part, mode, board)
            if item.point != part:
                return item, found
    words = []
    for end in plain.split("~"):
        word, warning = known_point(end, board)
        words.append(word)
        found += [warning] if warning is not None else []
    return measurement_of("~".join(words), mode), found


def known_point(point: str, board: Board | None) -> tuple[str, Finding | None]:
    """Return a point as the board writes it, with a warning where no board knows it."""
    plain = point.strip()
    if not plain:
        raise MisuseError("a reading needs a point, as in J4.12")
    if board is None:
        what = "no board is known yet; what was read is kept"
        remedy = "it counts once a pinout or a chain names its point"
        return plain, Finding(what, remedy=remedy, severity=Severity.WARNING)
    for spelling in (plain, plain.upper()):
        if board.has_point(spelling):
            return spelling, None
    what = f"{plain} is kept, but {board.name} has no such pin or net"
    return plain, Finding(what, Where(name=plain), _advice(plain, board), Severity.WARNING)


def _advice(point: str, board: Board) -> str:
    pins = [f"{part.reference}.{pin.number}" for part in board.parts for pin in part.pins]
    close = get_close_matches(point.upper(), [*pins, *board.nets], 3)
    if close:
        return f"did you mean {' or '.join(close)}? If so, correct the entry"
    return "it counts once a pinout or a chain names the point"
