"""Numbers in words: readings, chances, changes of odds."""

from __future__ import annotations

import math
from collections.abc import Mapping

from nextprobe.board import MeterMode, OverRange
from nextprobe.quantities import Unit, format_value

# Kass and Raftery 1995, Bayes Factors, J. Am. Stat. Assoc. 90, p. 777 (from memory): a factor up
# to 3 is not worth more than a bare mention, to 20 positive, to 150 strong, above very strong.
_GRADES = ((3.0, "a little"), (20.0, "clearly"), (150.0, "much"))
_NO_CHANGE = 1.05

_UNITS: Mapping[MeterMode, Unit] = {
    MeterMode.DIODE: "volt",
    MeterMode.DC_VOLTS: "volt",
    MeterMode.OHMS: "ohm",
    MeterMode.LOW_OHMS: "ohm",
    MeterMode.CONTINUITY: "ohm",
    MeterMode.CAPACITANCE: "farad",
}


def say_value(value: float | OverRange, mode: MeterMode = MeterMode.DIODE) -> str:
    """Return a reading with its unit, or OL."""
    return "OL" if isinstance(value, OverRange) else format_value(value, _UNITS[mode])


def say_factor(factor: float) -> str:
    """Return a change of odds in words: ``clearly more likely``.

    Grades after Kass and Raftery 1995.
    """
    size = max(factor, 1.0 / factor) if factor > 0.0 else math.inf
    if size < _NO_CHANGE:
        return "about as likely as before"
    grade = next((word for limit, word in _GRADES if size <= limit), "very much")
    return f"{grade} {'more' if factor > 1.0 else 'less'} likely"


def say_probability(probability: float) -> str:
    """Return a probability in words."""
    steps = ((0.95, "almost certain"), (0.75, "very likely"), (0.5, "likely"), (0.2, "possible"),
             (0.05, "unlikely"))  # fmt: skip
    return next((word for limit, word in steps if probability >= limit), "very unlikely")


def say_share(probability: float) -> str:
    """Return a probability as people write it: ``42 %``, ``0.4 %``, ``below 0.1 %``."""
    percent = 100.0 * probability
    if percent >= 9.95:
        return f"{percent:.0f} %"
    return f"{percent:.1f} %" if percent >= 0.1 else "below 0.1 %"
