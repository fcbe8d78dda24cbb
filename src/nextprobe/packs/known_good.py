"""Readings of boards that are known to work."""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.board import MeterMode, OverRange
from nextprobe.reference.measured import MeasuredSpread


@dataclass(frozen=True)
class KnownGood:
    """What known-good boards read at one point, modules unplugged, positive lead on ground.

    Parameters
    ----------
    point : str
        Pin or net, as in ``J4.12``.
    mode : MeterMode
        What the meter was set to.
    value : float or OverRange
        Mean over the boards [V, ohm or F], or over-range.
    boards : int
        How many boards the value is the mean of, 1 at least.
    source : str
        Where the reading comes from, in words.
    line : int or None
        Line of the file, counted from 1.
    spread : MeasuredSpread or None
        How far apart they read, where boards were measured one by one.
    """

    point: str
    mode: MeterMode
    value: float | OverRange
    boards: int = 1
    source: str = ""
    line: int | None = None
    spread: MeasuredSpread | None = None
