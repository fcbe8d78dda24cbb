"""What a step costs, by kind, and the tariff that makes one number of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Cost:
    """The cost of a step, kept apart by kind so that it can be explained.

    Parameters
    ----------
    attended : float
        Time that somebody works on it [s].
    elapsed : float
        Time until it is done, attended or not [s].
    parts : float
        Parts and consumables [currency].
    harms : float
        Expected harm: probability times loss [currency].
    """

    attended: float = 0.0
    elapsed: float = 0.0
    parts: float = 0.0
    harms: float = 0.0

    def __add__(self, other: Cost) -> Cost:
        return Cost(
            self.attended + other.attended,
            self.elapsed + other.elapsed,
            self.parts + other.parts,
            self.harms + other.harms,
        )

    def __mul__(self, factor: float) -> Cost:
        return Cost(
            self.attended * factor,
            self.elapsed * factor,
            self.parts * factor,
            self.harms * factor,
        )

    __rmul__ = __mul__


@dataclass(frozen=True)
class Tariff:
    """What time is worth.

    Parameters
    ----------
    attended_per_second, elapsed_per_second : float
        Rates for time at work and for time that merely passes [currency/s].
    """

    attended_per_second: float
    elapsed_per_second: float = 0.0

    def price(self, cost: Cost) -> float:
        """Return the whole cost as one number [currency]."""
        return (
            cost.attended * self.attended_per_second
            + cost.elapsed * self.elapsed_per_second
            + cost.parts
            + cost.harms
        )
