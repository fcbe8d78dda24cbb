"""A published clamp as a table: what current it carries at which drop.

Between two points the logarithm of the current is taken as linear in the voltage, as it is for
a junction (Shockley 1949, Bell Syst. Tech. J. 28, 435); where a current is not positive, which
is leakage and rounding, the current itself is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import exp, isfinite, log
from typing import Literal

from nextprobe.errors import MisuseError, SettingError

Corner = Literal["typ", "min", "max"]


@dataclass(frozen=True)
class ClampTable:
    """Current through a clamp against the voltage across it, both positive when it conducts.

    Parameters
    ----------
    volts : tuple of float, length N
        From anode to cathode, strictly rising [V]; negative while the clamp blocks.
    amperes : tuple of float, length N
        Current at each [A].

    Raises
    ------
    MisuseError
        Unless there are two points or more, all finite, with rising voltage.
    """

    volts: tuple[float, ...]
    amperes: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.volts) != len(self.amperes) or len(self.volts) < 2:
            raise MisuseError("a clamp table has two points or more, each of a voltage and current")
        if not all(map(isfinite, (*self.volts, *self.amperes))):
            raise MisuseError("the numbers of a clamp table are finite")
        if any(later <= before for before, later in pairwise(self.volts)):
            raise MisuseError("the voltages of a clamp table rise from point to point")

    @property
    def reach(self) -> float:
        """Largest current that it carries while it conducts [A]; 0 if it never does."""
        forward = [i for v, i in zip(self.volts, self.amperes, strict=True) if v > 0.0]
        return max(forward, default=0.0)

    def reaches(self, current: float) -> bool:
        """Whether the drop at a current [A] can be read from it."""
        return self._crossing(current) is not None

    def current(self, volts: float) -> float:
        """Return the current at a voltage across the clamp [A].

        Raises
        ------
        SettingError
            If the voltage is outside the table.
        """
        if not self.volts[0] <= volts <= self.volts[-1]:
            raise SettingError(
                f"the clamp table goes from {self.volts[0]:g} to {self.volts[-1]:g} V, "
                f"not to {volts:g} V"
            )
        for low, high in self._segments():
            if volts <= high[0]:
                return _current(low, high, volts)
        raise AssertionError("unreachable")

    def drop(self, current: float) -> float:
        """Return the voltage at which a rising current [A] first flows [V].

        Raises
        ------
        SettingError
            If the current is not positive, or the table does not reach it.
        """
        crossing = self._crossing(current)
        if crossing is None:
            raise SettingError(
                f"the clamp table reaches {1e3 * self.reach:.3g} mA by {self.volts[-1]:g} V; "
                f"it has no drop at {1e3 * current:.3g} mA"
            )
        return crossing

    def _crossing(self, current: float) -> float | None:
        if not current > 0.0:
            return None
        for low, high in self._segments():
            if low[1] < current <= high[1] and high[0] > 0.0:
                found = _volts(low, high, current)
                if found > 0.0:
                    return found
        return None

    def _segments(self) -> Iterable[tuple[tuple[float, float], tuple[float, float]]]:
        return pairwise(zip(self.volts, self.amperes, strict=True))


def _current(low: tuple[float, float], high: tuple[float, float], volts: float) -> float:
    share = (volts - low[0]) / (high[0] - low[0])
    if share in (0.0, 1.0):
        return high[1] if share else low[1]
    if low[1] > 0.0 and high[1] > 0.0:
        return exp(log(low[1]) + share * (log(high[1]) - log(low[1])))
    return low[1] + share * (high[1] - low[1])


def _volts(low: tuple[float, float], high: tuple[float, float], current: float) -> float:
    if low[1] > 0.0:
        share = log(current / low[1]) / log(high[1] / low[1])
    else:
        share = (current - low[1]) / (high[1] - low[1])
    return min(low[0] + share * (high[0] - low[0]), high[0])


@dataclass(frozen=True)
class ClampCorners:
    """A clamp at the typical process and at the corners of process, supply and temperature.

    Parameters
    ----------
    typ : ClampTable
    min, max : ClampTable or None
        None where nobody has published them. Either may carry more: heat helps a junction.
    """

    typ: ClampTable
    min: ClampTable | None = None
    max: ClampTable | None = None

    def drop(self, current: float, corner: Corner = "typ") -> float | None:
        """Return the drop of a corner at a current [V]; None where its table does not reach."""
        table = {"typ": self.typ, "min": self.min, "max": self.max}[corner]
        return table.drop(current) if table is not None and table.reaches(current) else None

    def span(self, current: float) -> float | None:
        """Return how far apart the drops of the corners are [V]; None where one is missing."""
        ends = [self.drop(current, "min"), self.drop(current, "max")]
        known = [end for end in (*ends, self.drop(current)) if end is not None]
        return max(known) - min(known) if None not in ends else None
