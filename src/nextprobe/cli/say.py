"""Values in words for tables."""

from __future__ import annotations

from nextprobe.board import MeterMode, OverRange
from nextprobe.quantities import Unit, format_value
from nextprobe.workbench.phrases import say_share

__all__ = ["say_chance", "say_minutes", "say_money", "say_share", "say_value"]

_UNITS: dict[MeterMode, Unit] = {
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


def say_money(amount: float, currency: str) -> str:
    """Return an amount of money."""
    return f"{amount:.2f} {currency}"


def say_minutes(attended: float, elapsed: float) -> str:
    """Return how long something takes."""
    if elapsed > attended + 0.5:
        return f"{attended:.0f} min of work, done after {elapsed:.0f} min"
    return f"{attended:.0f} min"


def say_chance(probability: float) -> str:
    """Return a chance in per cent."""
    percent = 100.0 * probability
    return f"{percent:.0f} %" if percent >= 1.0 else "< 1 %"
