"""Probing runs: pins in order, stopped at the first confirmed surprise."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import MeterMode, OverRange
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.diagnosis.predicted import Expectation

FloatArray = NDArray[np.float64]

SHORTED, LOW, NORMAL, HIGH, OVER = "near zero", "low", "as expected", "high", "over-range"
BIN_WORDS = (SHORTED, LOW, NORMAL, HIGH, OVER)
ALL_AS_EXPECTED = "all as expected"
SOMETHING_ELSE = "something else"

_SURPRISE = 3.0
# Next to nothing, by meter mode [V, ohm or F]; common practice, no published source.
_NEAR_ZERO = {
    MeterMode.DIODE: 0.03,
    MeterMode.OHMS: 60.0,
    MeterMode.LOW_OHMS: 1.0,
    MeterMode.CONTINUITY: 1.0,
    MeterMode.CAPACITANCE: 2e-9,
    MeterMode.DC_VOLTS: 0.1,
}


def edges_of(expectation: Expectation) -> tuple[float, ...]:
    """Return the bounds of near zero, low, as expected and high at a point [V, ohm or F].

    Values within three standard deviations of the healthy reading are as expected, but never next
    to nothing, unless that is what a good board reads: such a rail has no room below.
    """
    full, count = expectation.meter.full_scale, expectation.meter.resolution
    near = _NEAR_ZERO[expectation.meter.mode]
    if isinstance(expectation.healthy, OverRange):
        return (0.0, near, full * 0.998, full * 0.999, full)
    reach = _SURPRISE * expectation.spread
    zero = max(min(near, expectation.healthy / 2.0), count)
    low = max(expectation.healthy - reach, zero + count)
    high = min(max(expectation.healthy + reach, low + count), full * 0.999)
    return (0.0, zero, low, high, full)


def bin_of(expectation: Expectation, value: float | OverRange) -> str:
    """Return the word for a reading: as expected, low, high, near zero or over-range."""
    if isinstance(value, OverRange):
        return NORMAL if isinstance(expectation.healthy, OverRange) else OVER
    _, zero, low, high, _ = edges_of(expectation)
    if isinstance(expectation.healthy, OverRange):
        return SHORTED if value < zero else LOW
    if value > high:
        return HIGH
    if value >= low or expectation.healthy < zero:
        return NORMAL
    return SHORTED if value < zero else LOW


def bin_chances(expectation: Expectation) -> FloatArray:
    """Return the chance of each of BIN_WORDS under each candidate, shape (H + 1, 5)."""
    chances = expectation.bins(edges_of(expectation))
    if isinstance(expectation.healthy, OverRange):
        chances = chances.copy()
        chances[:, 1] += chances[:, 2] + chances[:, 3]
        chances[:, 2], chances[:, 4] = chances[:, 4], 0.0
        chances[:, 3] = 0.0
    elif expectation.healthy < edges_of(expectation)[1]:
        chances = chances.copy()
        chances[:, 2] += chances[:, 0] + chances[:, 1]
        chances[:, :2] = 0.0
    return chances


@dataclass(frozen=True, eq=False)
class Run:
    """An ordered list of points with one stop rule: stop at the first confirmed surprise.

    Parameters
    ----------
    id : str
        Stable name, as in ``run:J4``.
    title : str
        For people.
    points : tuple of str, length N
    measurements : tuple of Measurement, length N
        What is measured at each point.
    chance_of : callable
        Gives the chance of each word of BIN_WORDS in a measurement, shape (H + 1, 5); asked for
        once somebody wants to know.
    """

    id: str
    title: str
    points: tuple[str, ...]
    measurements: tuple[Measurement, ...]
    chance_of: Callable[[Measurement], FloatArray]

    @cached_property
    def chances(self) -> FloatArray:
        """Chance of each word of BIN_WORDS at each point under each row, shape (N, H + 1, 5)."""
        return np.stack([self.chance_of(item) for item in self.measurements])

    def without(self, points: frozenset[str]) -> Run | None:
        """Return the run over the other points; None if there are none."""
        kept = [index for index, point in enumerate(self.points) if point not in points]
        if len(kept) == len(self.points):
            return self
        if not kept:
            return None
        left = tuple(self.points[index] for index in kept)
        measured = tuple(self.measurements[index] for index in kept)
        return Run(self.id, self.title, left, measured, self.chance_of)

    @cached_property
    def reached(self) -> FloatArray:
        """Chance that each point is reached, shape (N, H + 1)."""
        normal = self.chances[:, :, 2]
        return np.vstack([np.ones(normal.shape[1]), np.cumprod(normal, axis=0)[:-1]])

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """What may come of it: which point surprises and how, or none."""
        stops = [f"{point} {word}" for point in self.points for word in BIN_WORDS if word != NORMAL]
        return (*stops, ALL_AS_EXPECTED)

    @cached_property
    def likelihoods(self) -> FloatArray:
        """Chance of each label under each candidate, shape (4 N + 1, H + 1)."""
        odd = self.chances[:, :, [0, 1, 3, 4]] * self.reached[:, :, None]
        flat = odd.transpose(0, 2, 1).reshape(4 * len(self.points), -1)
        rest = self.reached[-1] * self.chances[-1, :, 2]
        return np.vstack([flat, rest])

    @cached_property
    def noise(self) -> FloatArray:
        """Entropy of what comes of it under each candidate, shape (H + 1,) [nat]."""
        chances = self.likelihoods
        with np.errstate(divide="ignore", invalid="ignore"):
            terms = np.where(chances > 0.0, chances * np.log(chances), 0.0)
        return np.asarray(-terms.sum(axis=0))
