"""What another good board should read, given a few that are known to be good.

Normal readings with unknown mean and unknown spread between boards, under the conjugate prior
(normal, scaled inverse chi-squared): Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., 3.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri, stdtrit

from nextprobe.board import OverRange
from nextprobe.errors import MisuseError

_UPPER = 0.975


@dataclass(frozen=True)
class SpreadPrior:
    """What is known of readings of a kind before any board of this type was measured.

    Parameters
    ----------
    deviation : float
        Typical standard deviation between good boards [unit of the reading].
    degrees : float
        How many boards' worth of evidence that guess is.
    mean : float
        Where readings are expected [unit of the reading].
    boards : float
        How many boards' worth of evidence that is; 0 for none, a flat prior (3.2 in the book).
    over_range : (float, float)
        Beta prior: boards' worth of evidence that a good board reads over-range, and a number.

    Raises
    ------
    MisuseError
        If a parameter is out of range.
    """

    deviation: float
    degrees: float = 4.0
    mean: float = 0.0
    boards: float = 0.0
    over_range: tuple[float, float] = (0.1, 0.1)

    def __post_init__(self) -> None:
        positive = (self.deviation, self.degrees, *self.over_range)
        if not all(0.0 < value < math.inf for value in positive) or self.boards < 0.0:
            raise MisuseError("spread, degrees and counts of a prior must be positive")


@dataclass(frozen=True)
class Predictive:
    """Predicted reading of one more good board.

    Parameters
    ----------
    over_range : float
        Probability that it reads over-range.
    mean : float or None
        Of the Student t distribution of the number; None if nothing is known of it.
    scale : float
        Of that distribution, not its standard deviation [unit of the reading].
    degrees : float
        Degrees of freedom.
    measuring : float
        Standard uncertainty of the meter for the reading to come [unit of the reading].
    boards : int
        Boards that gave a number.
    """

    over_range: float
    mean: float | None
    scale: float
    degrees: float
    measuring: float
    boards: int

    @property
    def deviation(self) -> float:
        """Standard deviation of a normal that stands for t and meter together.

        The normal has the same central 95 % interval as the t distribution: for five or more
        degrees of freedom that is within 2 % of matching the variance, which for fewer than
        three does not exist. The meter is added in quadrature (JCGM 100:2008, 5.1.2).
        """
        widening = float(stdtrit(self.degrees, _UPPER) / ndtri(_UPPER))
        return math.hypot(self.scale * widening, self.measuring)


def predictive(
    readings: Sequence[float | OverRange], prior: SpreadPrior, measuring: float = 0.0
) -> Predictive:
    """Return what one more good board should read.

    Parameters
    ----------
    readings : sequence of float or OverRange
        One value from each board known to be good; their own meter error counts as spread.
    prior : SpreadPrior
        Before any of them.
    measuring : float
        Standard uncertainty of the meter for the reading to come [unit of the reading].

    Raises
    ------
    MisuseError
        If a value or the uncertainty is not a finite number.
    """
    values = np.array([v for v in readings if not isinstance(v, OverRange)], dtype=np.float64)
    if not np.isfinite(values).all() or not 0.0 <= measuring < math.inf:
        raise MisuseError("readings and uncertainties must be finite numbers")
    open_count, number = len(readings) - values.size, values.size
    a, b = prior.over_range
    over = (a + open_count) / (a + b + len(readings))
    weight = prior.boards + number
    if weight == 0.0:
        return Predictive(over, None, prior.deviation, prior.degrees, measuring, 0)
    average = float(values.mean()) if number else prior.mean
    mean = (prior.boards * prior.mean + number * average) / weight
    mean_is_free = prior.boards == 0.0
    degrees = prior.degrees + number - (1.0 if mean_is_free else 0.0)
    squares = float(((values - average) ** 2).sum())
    squares += prior.degrees * prior.deviation**2
    squares += prior.boards * number / weight * (average - prior.mean) ** 2
    scale = math.sqrt(squares / degrees * (1.0 + 1.0 / weight))
    return Predictive(over, mean, scale, degrees, measuring, number)
