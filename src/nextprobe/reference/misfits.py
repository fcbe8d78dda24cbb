"""Boards that do not fit the others of their type."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from scipy.special import stdtr

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, OverRange
from nextprobe.reference.good_boards import GoodBoards
from nextprobe.reference.spread import SpreadPrior, predictive

Priors = Callable[[str, MeterMode, float | None], SpreadPrior]
"""What is known of a point before its boards: point, mode, and about what it reads."""

ODDS = 0.01
"""Chance that a good board is called odd at one of its points or more (common practice, no
published source); it is shared out among the points (Bonferroni)."""


@dataclass(frozen=True)
class Fit:
    """One reading of a board against what the others predict of it.

    Parameters
    ----------
    label : str
        Of the board.
    number : int or None
        Of its record.
    point : str
    bench : BenchSetup
    value : float or OverRange
        What it reads [V, ohm or F].
    others : int
        Boards that predict it.
    expected : float or OverRange
        What they predict [V, ohm or F].
    deviation : float
        Standard uncertainty of that [V, ohm or F].
    score : float
        How far off the reading is in these; infinite where one is over-range and the other not.
    chance : float
        Of a good board to be off so far, or farther.
    is_odd : bool
        Whether that is too little to be chance.
    """

    label: str
    number: int | None
    point: str
    bench: BenchSetup
    value: float | OverRange
    others: int
    expected: float | OverRange
    deviation: float
    score: float
    chance: float
    is_odd: bool


def fits(boards: GoodBoards, priors: Priors) -> tuple[Fit, ...]:
    """Return each reading against what all other boards predict, the farthest off first.

    A point that one board alone was measured at is left out. The prediction is the Student t of
    :func:`~nextprobe.reference.spread.predictive`, from the others alone.

    Parameters
    ----------
    boards : GoodBoards
    priors : callable
        What is known of a point before any board was measured.
    """
    found = [fit for bench in boards.benches for fit in _in_setup(boards, bench, priors)]
    return tuple(sorted(found, key=lambda fit: (-abs(fit.score), fit.point, fit.label)))


def misfits(boards: GoodBoards, priors: Priors) -> tuple[Fit, ...]:
    """Return the readings that do not fit those of the other boards, the farthest off first."""
    return tuple(fit for fit in fits(boards, priors) if fit.is_odd)


def _in_setup(boards: GoodBoards, bench: BenchSetup, priors: Priors) -> Iterator[Fit]:
    shared = [point for point in boards.points(bench) if len(boards.behind(point, bench)) > 1]
    points: dict[str, int] = {}
    for point in shared:
        for name in boards.behind(point, bench):
            points[name] = points.get(name, 0) + 1
    for point in shared:
        yield from _at_point(boards, point, bench, priors, points)


def _at_point(
    boards: GoodBoards, point: str, bench: BenchSetup, priors: Priors, points: Mapping[str, int]
) -> Iterator[Fit]:
    behind = boards.behind(point, bench)
    for name, record in behind.items():
        value = record.values[point]
        rest = [other.values[point] for key, other in behind.items() if key != name]
        expected, deviation, score, chance = _against(value, rest, point, bench.mode, priors)
        yield Fit(
            record.label,
            record.number,
            point,
            bench,
            value,
            len(rest),
            expected,
            deviation,
            score,
            chance,
            chance < ODDS / points[name],
        )


def _against(
    value: float | OverRange,
    rest: list[float | OverRange],
    point: str,
    mode: MeterMode,
    priors: Priors,
) -> tuple[float | OverRange, float, float, float]:
    """Return what others predict of a reading, its uncertainty, how far off it is, the chance."""
    numbers = [other for other in rest if not isinstance(other, OverRange)]
    about = math.fsum(numbers) / len(numbers) if numbers else None
    found = predictive(rest, priors(point, mode, about))
    mostly_over = found.mean is None or 2 * len(numbers) < len(rest)
    if isinstance(value, OverRange) or mostly_over or found.mean is None:
        # One board in another state than all the others is odd for certain.
        agreed = len(numbers) in (0, len(rest))
        odd = agreed and isinstance(value, OverRange) is not mostly_over
        expected = OVER_RANGE if found.mean is None or mostly_over else found.mean
        return expected, 0.0, math.inf if odd else 0.0, 0.0 if odd else 1.0
    off = value - found.mean
    chance = 2.0 * float(stdtr(found.degrees, -abs(off) / found.scale))
    return found.mean, found.deviation, off / found.deviation, chance
