"""Boards that do not fit the others of their type."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from scipy.special import stdtr

from nextprobe.board import OVER_RANGE, BenchSetup, OverRange
from nextprobe.reference.good_boards import GoodBoards
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive

Priors = Callable[[str, BenchSetup, float | None], SpreadPrior]
"""What is known of a point before its boards: point, set-up, and about what it reads."""

ODDS = 0.01
"""Chance that a good board is called odd at one of its points or more (common practice, no
published source); it is shared out among the points (Bonferroni)."""

STATE_ODDS = 0.1
"""A board is odd where fewer than one good board in so many reads over-range, or a number, as it
does (common practice, no published source): one against one already is."""


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
        Boards kept beside it that predict it.
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

    A point of which nothing but one board is known is left out. The prediction is the Student t of
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
    shared = [point for point in boards.points(bench) if _is_known(boards, point, bench, priors)]
    points: dict[str, int] = {}
    for point in shared:
        for name in boards.behind(point, bench):
            points[name] = points.get(name, 0) + 1
    for point in shared:
        yield from _at_point(boards, point, bench, priors, points)


def _is_known(boards: GoodBoards, point: str, bench: BenchSetup, priors: Priors) -> bool:
    """Tell whether anything but one board says what a point reads."""
    prior = priors(point, bench, None)
    return len(boards.behind(point, bench)) > 1 or prior.boards > 0.0 or prior.over_range[0] > 1.0


def _at_point(
    boards: GoodBoards, point: str, bench: BenchSetup, priors: Priors, points: Mapping[str, int]
) -> Iterator[Fit]:
    behind = boards.behind(point, bench)
    for name, record in behind.items():
        value = record.values[point]
        rest = [other.values[point] for key, other in behind.items() if key != name]
        numbers = [other for other in rest if not isinstance(other, OverRange)]
        about = math.fsum(numbers) / len(numbers) if numbers else None
        found = predictive(rest, priors(point, bench, about))
        deviation, score, chance = _off(value, found)
        expected = OVER_RANGE if found.mean is None or found.over_range > 0.5 else found.mean
        least = STATE_ODDS if math.isinf(score) else ODDS / points[name]
        odd = chance < least
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
            odd,
        )


def _off(value: float | OverRange, found: Predictive) -> tuple[float, float, float]:
    """Return the uncertainty of a prediction, how far off a reading is, and the chance of that."""
    over = isinstance(value, OverRange)
    state = found.over_range if over else 1.0 - found.over_range
    deviation = 0.0 if found.mean is None else found.deviation
    if state < STATE_ODDS:
        return deviation, math.inf, state
    if isinstance(value, OverRange) or found.mean is None:
        return deviation, 0.0, 1.0
    off = value - found.mean
    chance = 2.0 * float(stdtr(found.degrees, -abs(off) / found.scale))
    return deviation, off / deviation, chance
