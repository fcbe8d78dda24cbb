"""A reading and the set-up that it was taken in."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from nextprobe.board.board import GROUND
from nextprobe.board.kinds import MeterMode
from nextprobe.errors import SettingError


class OverRange(Enum):
    """The meter shows OL: a state, never a number."""

    OVER_RANGE = "over-range"

    def __repr__(self) -> str:
        return "OVER_RANGE"


OVER_RANGE = OverRange.OVER_RANGE
ZERO_CELSIUS = 273.15
ROOM_TEMPERATURE = 298.15


@dataclass(frozen=True)
class BenchSetup:
    """How the bench stands when a reading is taken.

    Parameters
    ----------
    mode : MeterMode
        What the meter is set to.
    clamped : str
        Pin or net that one lead stays on, usually ground.
    clamped_is_positive : bool
        Whether that lead is the positive one (the usual polarity in diode mode).
    plugged : frozenset of str
        Modules that are plugged in; empty for a bare board.
    removed : frozenset of str
        Parts that have been taken off.
    cleaned : bool
        Whether the board has been cleaned since it came in.
    temperature : float
        Of the board [K].
    """

    mode: MeterMode = MeterMode.DIODE
    clamped: str = GROUND
    clamped_is_positive: bool = True
    plugged: frozenset[str] = field(default_factory=frozenset)
    removed: frozenset[str] = field(default_factory=frozenset)
    cleaned: bool = False
    temperature: float = ROOM_TEMPERATURE

    def __post_init__(self) -> None:
        if not 233.0 <= self.temperature <= 398.0:
            raise SettingError(f"board temperature {self.temperature} K is outside 233 K to 398 K")


@dataclass(frozen=True)
class Reading:
    """One value of one touch.

    Parameters
    ----------
    point : str
        Pin or net under the free lead.
    value : float or OverRange
        What the meter showed [V, ohm or F], or over-range.
    setup : BenchSetup
        How the bench stood.
    touch : str
        Two values with one touch are not two touches.
    time : float
        When [s since the epoch].
    """

    point: str
    value: float | OverRange
    setup: BenchSetup = field(default_factory=BenchSetup)
    touch: str = ""
    time: float = 0.0
