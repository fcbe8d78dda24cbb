"""What a meter shows, in words."""

from __future__ import annotations

from collections.abc import Mapping

from nextprobe.board.kinds import MeterMode
from nextprobe.board.reading import OverRange
from nextprobe.quantities import Unit, format_value

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
