"""Whether readings lie where they were predicted: the probability integral transform.

The place of a reading in its predictive distribution is uniform from 0 to 1 where predictions are
right (Dawid 1984; Diebold, Gunther and Tay 1998). A reading is a whole number of counts, and
over-range is one value with a chance of its own: within such an atom the place is drawn evenly
(randomised PIT: Czado, Gneiting and Held 2009, Predictive Model Assessment for Count Data,
Biometrics 65, 1254-1261; cited from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc, kolmogi

from nextprobe.errors import MisuseError

_BINS = 10


def randomised(below: float, up_to: float, roll: float) -> float:
    """Return the place of an outcome in its predictive distribution.

    Parameters
    ----------
    below, up_to : float
        Chance of less than what was seen, and of no more than that.
    roll : float
        Uniform from 0 to 1.

    Raises
    ------
    MisuseError
        If these are not chances in rising order.
    """
    if not -1e-9 <= below <= up_to + 1e-9 <= 1.0 + 1e-6:
        raise MisuseError(f"{below:g} and {up_to:g} are not chances in rising order")
    return float(np.clip(below + roll * (up_to - below), 0.0, 1.0))


@dataclass(frozen=True)
class Uniformity:
    """How evenly places lie between 0 and 1.

    Parameters
    ----------
    n : int
    histogram : tuple of int
        How many lie in each tenth.
    chi_squared, p_value : float
        Pearson's statistic against an even histogram, with 9 degrees of freedom, and the chance of
        as much where predictions are right and readings independent.
    distance, critical_distance : float
        Greatest difference from the even distribution (Kolmogorov-Smirnov), and what it exceeds
        in 5 % of such cases, for large n.
    """

    n: int
    histogram: tuple[int, ...]
    chi_squared: float
    p_value: float
    distance: float
    critical_distance: float


def uniformity(places: ArrayLike) -> Uniformity:
    """Return how evenly places lie; raises MisuseError if there are none or one is out of range."""
    values = np.sort(np.asarray(places, dtype=np.float64))
    n = values.size
    if not n or values[0] < 0.0 or values[-1] > 1.0:
        raise MisuseError("places of readings lie between 0 and 1")
    counts = np.bincount(np.minimum((values * _BINS).astype(int), _BINS - 1), minlength=_BINS)
    expected = n / _BINS
    chi_squared = float(((counts - expected) ** 2 / expected).sum())
    steps = np.arange(n + 1) / n
    distance = float(max((steps[1:] - values).max(), (values - steps[:-1]).max()))
    return Uniformity(
        n,
        tuple(int(count) for count in counts),
        chi_squared,
        float(chdtrc(_BINS - 1, chi_squared)),
        distance,
        float(kolmogi(0.05)) / n**0.5,
    )


def one_each(places: Sequence[Sequence[float]]) -> list[float]:
    """Return the first place of each device: those of one device are not independent."""
    return [found[0] for found in places if found]
