"""A patient against a donor of the same type, pin by pin."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from nextprobe.board import OverRange
from nextprobe.errors import MisuseError

_SIGNIFICANT = 3.0
_SHORT_BELOW = 0.005


class DifferenceKind(StrEnum):
    """How the patient differs."""

    ALIKE = "alike"
    LOWER = "lower"
    HIGHER = "higher"
    SHORTED_HERE = "shorted here"
    OPEN_HERE = "open here"
    CONDUCTS_HERE = "conducts here"


@dataclass(frozen=True)
class Difference:
    """One point on both boards.

    Parameters
    ----------
    point : str
        Pin or net.
    patient, donor : float or OverRange
        What they read [V, ohm or F].
    score : float
        Difference, patient less donor, in standard deviations of what two good boards differ
        by; where one is over-range, the least that it can be.
    kind : DifferenceKind
        In a word.
    """

    point: str
    patient: float | OverRange
    donor: float | OverRange
    score: float
    kind: DifferenceKind


def compare(
    patient: Mapping[str, float | OverRange],
    donor: Mapping[str, float | OverRange],
    spread: float,
    uncertainty: Callable[[float], float],
    *,
    limit: float,
    short_below: float = _SHORT_BELOW,
    significant: float = _SIGNIFICANT,
) -> tuple[Difference, ...]:
    """Return the points measured on both boards, the most different first.

    Parameters
    ----------
    patient, donor : mapping of str to float or OverRange
        Readings by point, in one mode and set-up [V, ohm or F].
    spread : float
        Standard deviation between good boards of the type [unit of the reading].
    uncertainty : callable
        Standard uncertainty of the meter at a reading.
    limit : float
        Largest reading that is shown as a number.
    short_below : float
        A reading up to this counts as a short where the donor reads clearly more; the default
        of 5 mV is for diode mode (common practice, no published source).
    significant : float
        Smaller scores count as alike.

    Raises
    ------
    MisuseError
        If spread and uncertainty do not make a positive number, or a reading is beyond `limit`.
    """
    shared = [point for point in patient if point in donor]
    differences = []
    for point in shared:
        here, there = patient[point], donor[point]
        score = _score(here, there, spread, uncertainty, limit)
        kind = _kind(here, there, score, short_below)
        if abs(score) < significant:
            kind = DifferenceKind.ALIKE
        differences.append(Difference(point, here, there, score, kind))
    return tuple(sorted(differences, key=lambda item: (-abs(item.score), item.point)))


def _score(
    here: float | OverRange,
    there: float | OverRange,
    spread: float,
    uncertainty: Callable[[float], float],
    limit: float,
) -> float:
    a = limit if isinstance(here, OverRange) else here
    b = limit if isinstance(there, OverRange) else there
    deviation = math.hypot(spread, spread, uncertainty(a), uncertainty(b))
    if not 0.0 < deviation < math.inf or max(a, b) > limit:
        raise MisuseError("readings lie within the limit and two good boards differ a little")
    return (a - b) / deviation


def _kind(
    here: float | OverRange, there: float | OverRange, score: float, short_below: float
) -> DifferenceKind:
    if isinstance(here, OverRange):
        return DifferenceKind.OPEN_HERE
    if here <= short_below and score < 0.0:
        return DifferenceKind.SHORTED_HERE
    if isinstance(there, OverRange):
        return DifferenceKind.CONDUCTS_HERE
    return DifferenceKind.LOWER if score < 0.0 else DifferenceKind.HIGHER
