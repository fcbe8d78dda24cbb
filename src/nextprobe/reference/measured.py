"""How far apart good boards of a type were found, and what that says of one more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nextprobe.board import OverRange
from nextprobe.errors import MisuseError
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive

LEAST_MEASURED = 3
"""Boards from which on a measured spread counts for more than the pack's: two give one difference
and so next to no spread (common practice, no published source)."""


@dataclass(frozen=True)
class MeasuredSpread:
    """What is known of the spread between boards at one point.

    Its square is scaled inverse chi-squared: Gelman et al. (2013), Bayesian Data Analysis, 3rd
    ed., 3.3.

    Parameters
    ----------
    boards : int
        Boards that were measured one by one, and read a number.
    deviation : float
        Scale of the standard deviation between boards [unit of the reading].
    degrees : float
        Degrees of freedom of that.

    Raises
    ------
    MisuseError
        If deviation or degrees are not positive and finite.
    """

    boards: int
    deviation: float
    degrees: float

    def __post_init__(self) -> None:
        if not (0.0 < self.deviation < math.inf and 0.0 < self.degrees < math.inf):
            raise MisuseError("a measured spread and its degrees of freedom are positive")

    @property
    def is_enough(self) -> bool:
        """Whether it counts for more than what a pack says."""
        return self.boards >= LEAST_MEASURED

    def predictive_deviation(self, weight: float) -> float:
        """Return the standard uncertainty of what one more board reads [unit of the reading].

        Parameters
        ----------
        weight : float
            How many boards' worth of evidence the mean is.
        """
        scale = self.deviation * math.sqrt(1.0 + 1.0 / weight)
        return Predictive(0.0, 0.0, scale, self.degrees, 0.0, self.boards).deviation

    def with_board(self, mean: float, weight: float, value: float) -> tuple[float, MeasuredSpread]:
        """Return mean and spread after one more board.

        Parameters
        ----------
        mean : float
            Of the boards so far [unit of the reading].
        weight : float
            How many boards' worth of evidence that is.
        value : float
            What the one more reads.
        """
        degrees = self.degrees + 1.0
        squares = self.degrees * self.deviation**2
        squares += weight / (weight + 1.0) * (value - mean) ** 2
        moved = (weight * mean + value) / (weight + 1.0)
        return moved, MeasuredSpread(self.boards + 1, math.sqrt(squares / degrees), degrees)


def measured_spread(
    values: Sequence[float | OverRange], prior: SpreadPrior
) -> MeasuredSpread | None:
    """Return the spread that boards were found to have; None where none of them read a number."""
    found = predictive(values, prior)
    if found.boards == 0:
        return None
    widened = math.sqrt(1.0 + 1.0 / (prior.boards + found.boards))
    return MeasuredSpread(found.boards, found.scale / widened, found.degrees)
