"""What the ground clamp of a chip that nobody has a file of may drop.

All figures: 18 public IBIS (ANSI/EIA-656) files, aggregates; 8 makers, about 15 chips, 131 models
with a table that can be used (50 distinct curves), typical corner, log-linear interpolation. It
is a small convenience sample of chips that were simulated powered, not a population.

Quantiles between those published are interpolated linearly, and drawn from by the inverse of the
distribution (Devroye 1986, Non-Uniform Random Variate Generation, II.2).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import hypot, sqrt
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from nextprobe.errors import MisuseError, SettingError

SOURCE = "18 public IBIS (ANSI/EIA-656) files, aggregates"
_LEVELS = (0.0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0)
Array = NDArray[np.float64]


class ClampClass(StrEnum):
    """Kinds of chips and pins whose clamps are alike."""

    FPGA = "FPGA"
    MEMORY_DATA = "memory data"
    MEMORY_INPUT = "memory input"
    LEVEL_SHIFTER = "level shifter"
    SHIFTER_DIRECTION = "direction pin of a level shifter"
    MICROCONTROLLER = "microcontroller"
    SMALL_LOGIC = "small logic"
    TRANSCEIVER = "differential transceiver"


@dataclass(frozen=True)
class ClampPrior:
    """Distribution of the drop of a clamp at one current.

    Parameters
    ----------
    current : float
        At which it holds [A].
    levels : tuple of float
        Rising from 0 to 1 [1].
    drops : tuple of float
        Quantile at each level, rising [V].
    source : str
        Where the figures came from.

    Raises
    ------
    MisuseError
        Unless levels go from 0 to 1 and both rise.
    """

    current: float
    levels: tuple[float, ...]
    drops: tuple[float, ...]
    source: str = SOURCE

    def __post_init__(self) -> None:
        whole = self.levels[:1] == (0.0,) and self.levels[-1:] == (1.0,)
        rising = all(np.all(np.diff(column) > 0.0) for column in (self.levels, self.drops))
        if not whole or not rising or len(self.levels) != len(self.drops):
            raise MisuseError("quantiles rise, at levels that rise from 0 to 1")

    def quantile(self, level: float) -> float:
        """Return the drop that a share of clamps does not exceed [V].

        Raises
        ------
        MisuseError
            If the level is not from 0 to 1.
        """
        if not 0.0 <= level <= 1.0:
            raise MisuseError(f"a level is from 0 to 1, not {level:g}")
        return float(np.interp(level, self.levels, self.drops))

    def level(self, drop: float) -> float:
        """Return the share of clamps that drop no more than `drop` [V]."""
        return float(np.interp(drop, self.drops, self.levels))

    def draw(self, rng: np.random.Generator, size: int | None = None) -> Array:
        """Return drops of clamps that have nothing to do with each other, shape (size,) [V]."""
        return np.asarray(np.interp(rng.random(size), self.levels, self.drops))


@dataclass(frozen=True)
class Quartiles:
    """Lower quartile, median and upper quartile [V]."""

    lower: float
    median: float
    upper: float
    source: str = SOURCE


AT_1_MILLIAMPERE = ClampPrior(1e-3, _LEVELS, (0.338, 0.368, 0.565, 0.609, 0.680, 0.907, 1.81))
AT_0_3_MILLIAMPERE = ClampPrior(0.3e-3, _LEVELS, (0.304, 0.319, 0.510, 0.535, 0.616, 0.727, 1.02))
"""Drop of the ground clamp over all models."""

UPPER_CLAMP = ClampPrior(1e-3, (0.0, 0.5, 1.0), (0.40, 0.73, 1.77))
"""Drop of the clamp to the rail, where there is one; only its median and ends are known."""
UPPER_CLAMP_USABLE = (26, 149)
"""Models whose clamp to the rail carries 1 mA, of all models: often there is none."""

STEP = Quartiles(0.052, 0.063, 0.090)
"""Drop at 1 mA less that at 0.3 mA."""
BETWEEN_CORNERS = Quartiles(0.072, 0.160, 0.189)
"""Span of the drop at 1 mA from corner to corner: process, supply and temperature together."""
WITHIN_A_CHIP = 0.077
"""Median spread of the drop within one chip; most of it is between classes of pins [V]."""
TEMPERATURE = (-1.8e-3, -1.0e-3)
"""Drop by temperature on most models [V/K]. On some it is positive: none is universal."""

_CENTRES: Mapping[ClampClass, tuple[float, float]] = MappingProxyType(
    {
        ClampClass.FPGA: (0.36, 0.48),
        ClampClass.MEMORY_DATA: (0.463, 0.463),
        ClampClass.MEMORY_INPUT: (0.660, 0.660),
        ClampClass.LEVEL_SHIFTER: (0.562, 0.562),
        ClampClass.SHIFTER_DIRECTION: (0.766, 0.766),
        ClampClass.MICROCONTROLLER: (0.61, 0.68),
        ClampClass.SMALL_LOGIC: (0.61, 0.73),
        ClampClass.TRANSCEIVER: (0.89, 0.89),
    }
)
"""Lowest and highest median at 1 mA of the chips, or the class of pins, that were seen [V]."""
# A uniform span is this many standard deviations; corners are six apart (common practice).
_UNIFORM, _CORNERS = sqrt(12.0), 6.0
_ENDS = 3.0


def class_deviation(kind: ClampClass) -> float:
    """Return the standard deviation of the drop at 1 mA within a class [V].

    An assumption, no published source: the medians of the chips seen and the spread within
    a chip as uniform spans, process corners six standard deviations apart, all independent.
    """
    low, high = _CENTRES[kind]
    spans = (high - low) / _UNIFORM, WITHIN_A_CHIP / _UNIFORM, BETWEEN_CORNERS.median / _CORNERS
    return hypot(*spans)


def clamp_prior(current: float = 1e-3, kind: ClampClass | None = None) -> ClampPrior:
    """Return what a ground clamp drops at a current.

    Parameters
    ----------
    current : float
        1 mA or 0.3 mA [A].
    kind : ClampClass or None
        None where nobody knows. Of a class only the median is known, at 1 mA: its quantiles are
        those of a normal with :func:`class_deviation`, cut off at three deviations.

    Raises
    ------
    SettingError
        If there are no figures at that current.
    """
    overall = {each.current: each for each in (AT_1_MILLIAMPERE, AT_0_3_MILLIAMPERE)}
    known = [AT_1_MILLIAMPERE.current] if kind is not None else list(overall)
    if current not in known:
        words = " and ".join(f"{1e3 * each:g} mA" for each in known)
        raise SettingError(f"there are figures at {words}, not at {1e3 * current:g} mA")
    return overall[current] if kind is None else _normal(kind, current)


def _normal(kind: ClampClass, current: float) -> ClampPrior:
    centre, deviation = sum(_CENTRES[kind]) / 2.0, class_deviation(kind)
    inner = [float(score) for score in ndtri(_LEVELS[1:-1])]
    drops = tuple(centre + deviation * score for score in (-_ENDS, *inner, _ENDS))
    return ClampPrior(current, _LEVELS, drops)
