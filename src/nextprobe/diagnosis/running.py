"""Probing runs: pins in order, stopped at the first confirmed surprise."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import GROUND, BenchSetup, OverRange, Part, PartKind, Role
from nextprobe.diagnosis.expectation import Expectation, Expectations

FloatArray = NDArray[np.float64]

SHORTED, LOW, NORMAL, HIGH, OVER = "near zero", "low", "as expected", "high", "over-range"
BIN_WORDS = (SHORTED, LOW, NORMAL, HIGH, OVER)
ALL_AS_EXPECTED = "all as expected"
SOMETHING_ELSE = "something else"

_SURPRISE = 3.0
_NEAR_ZERO = 0.03
BENCH = BenchSetup()


def edges_of(expectation: Expectation) -> tuple[float, ...]:
    """Return the bounds of near zero, low, as expected and high at a point [V].

    Values within three standard deviations of the healthy reading are as expected; a rail that
    reads next to nothing when healthy has no room below.
    """
    full = expectation.meter.full_scale
    if isinstance(expectation.healthy, OverRange):
        return (0.0, _NEAR_ZERO, full * 0.998, full * 0.999, full)
    reach = _SURPRISE * expectation.spread
    low = max(expectation.healthy - reach, 2e-3)
    zero = min(_NEAR_ZERO, low / 2.0)
    high = min(max(expectation.healthy + reach, low + 1e-3), full * 0.999)
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
    chances : ndarray, shape (N, H + 1, 5)
        Chance of each word of BIN_WORDS at each point under each candidate.
    """

    id: str
    title: str
    points: tuple[str, ...]
    chances: FloatArray

    def without(self, points: frozenset[str]) -> Run | None:
        """Return the run over the other points; None if there are none."""
        kept = [index for index, point in enumerate(self.points) if point not in points]
        if len(kept) == len(self.points):
            return self
        if not kept:
            return None
        left = tuple(self.points[index] for index in kept)
        return Run(self.id, self.title, left, self.chances[kept])

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


def runs(expectations: Expectations, connectors: tuple[str, ...]) -> tuple[Run, ...]:
    """Return the probing runs worth offering for some connectors."""
    found = []
    for name in connectors:
        if name not in expectations.board.by_reference:
            continue
        near = _pins(expectations, expectations.board.part(name))
        found.append(_run(expectations, f"run:{name}", f"Probe the pins of {name}", near))
        beyond = _beyond(expectations, near)
        title = f"Probe behind the series capacitors of {name}"
        found.append(_run(expectations, f"run:{name}:beyond", title, beyond))
    return tuple(run for run in found if run is not None)


def _pins(expectations: Expectations, part: Part) -> tuple[str, ...]:
    board = expectations.board
    skipped = (Role.GROUND, Role.NOT_CONNECTED)
    return tuple(
        f"{part.reference}.{pin.number}"
        for pin in part.pins
        if pin.net != GROUND and board.role(pin.net) not in skipped
    )


def _beyond(expectations: Expectations, near: tuple[str, ...]) -> tuple[str, ...]:
    board = expectations.board
    points = []
    for point in near:
        for part, pin in board.parts_on(board.net_of(point)):
            if part.kind is PartKind.CAPACITOR and len(part.pins) == 2:
                far = next(p for p in part.pins if p is not pin)
                if far.net != GROUND:
                    points.append(f"{part.reference}.{far.number}")
    return tuple(dict.fromkeys(points))


def _run(expectations: Expectations, name: str, title: str, points: tuple[str, ...]) -> Run | None:
    if not points:
        return None
    chances = np.stack([bin_chances(expectations.at(point, BENCH)) for point in points])
    return Run(name, title, points, chances)
