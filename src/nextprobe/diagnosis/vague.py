"""Faults without a circuit model, and what they may do to readings near them.

Residue, a part that nobody drew and what is not in the list at all disturb some readings and leave
others alone. How many is drawn once per device, so that it is part of the hypothesis: a fault of
this kind comes in several sizes, the chance that it disturbs any one reading. The shares and the
chance of over-range are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Fault, FaultKind, OverRange

FloatArray = NDArray[np.float64]

ANYTHING, LOWERED, RAISED = range(3)
"""Ways in which a reading is disturbed: to any value, towards ground, or away from it."""
_WAYS = 3

_SIZES = {
    FaultKind.UNLISTED: (0.0, 0.1, 0.5),
    FaultKind.RESIDUE: (0.03, 0.15, 0.5),
    FaultKind.OPEN: (0.02, 0.1),
    FaultKind.SHORT: (0.02, 0.1),
}
_WAY_OF = {
    FaultKind.UNLISTED: ANYTHING,
    FaultKind.RESIDUE: LOWERED,
    FaultKind.OPEN: RAISED,
    FaultKind.SHORT: LOWERED,
}
# Of readings that may be anything, and of those that a missing part raises.
_OVER_RANGE = (0.25, 0.0, 0.5)
# No interval of readings is narrower than this share of the meter's range.
_LEAST_WIDTH = 0.01


def sizes(kind: FaultKind, place: str) -> tuple[Fault, ...]:
    """Return a fault without a circuit model in each of its sizes."""
    return tuple(Fault(kind, place, size) for size in _SIZES.get(kind, ())) or (Fault(kind, place),)


def disturbing(faults: Sequence[Fault], modelled: Sequence[bool]) -> FloatArray:
    """Return the chance of each way in which each fault disturbs a reading near it.

    Parameters
    ----------
    faults : sequence of Fault, length H
    modelled : sequence of bool, length H
        Whether the circuit says what a fault does.

    Returns
    -------
    ndarray, shape (3, H + 1)
        Nothing wrong as the last column.
    """
    chances = np.zeros((_WAYS, len(faults) + 1))
    for index, (fault, known) in enumerate(zip(faults, modelled, strict=True)):
        if not known and fault.kind in _WAY_OF:
            chances[_WAY_OF[fault.kind], index] = fault.magnitude or 0.0
    return chances


def several(alone: FloatArray, members: NDArray[np.intp]) -> FloatArray:
    """Return the chances for sets of faults, shape (3, N).

    Parameters
    ----------
    alone : ndarray, shape (3, H + 1)
        As of :func:`disturbing`.
    members : ndarray of int, shape (N, M)
        Columns of `alone`.
    """
    by_way = 1.0 - (1.0 - alone[:, members]).prod(axis=-1)
    whole = 1.0 - (1.0 - alone.sum(axis=0)[members]).prod(axis=-1)
    total = by_way.sum(axis=0)
    return np.asarray(by_way * (whole / np.where(total > 0.0, total, 1.0)))


def log_densities(value: float | OverRange, healthy: float | OverRange, full: float) -> FloatArray:
    """Return the log density of a reading disturbed in each way, shape (3,).

    Within its reach a disturbed reading is spread evenly. A number below zero, as a meter shows
    about a short, is taken to be as likely as zero.

    Parameters
    ----------
    value : float or OverRange
        What was read [V, ohm or F].
    healthy : float or OverRange
        What a good board shows, in the same unit.
    full : float
        Full scale of the meter, in the same unit.
    """
    over = _over_chances(healthy)
    with np.errstate(divide="ignore"):
        if isinstance(value, OverRange):
            return np.log(over)
        low, high = _reach(healthy, full)
        inside = (low <= max(value, 0.0)) & (value <= high)
        return np.log(np.where(inside, (1.0 - over) / (high - low), 0.0))


def bins(edges: Sequence[float], healthy: float | OverRange, full: float) -> FloatArray:
    """Return the chance of each interval of readings, then of over-range, shape (3, K + 1).

    The first interval also takes what lies below it, the last what lies above it up to full scale.
    """
    low, high = (bound[:, None] for bound in _reach(healthy, full))
    bounds = np.array(edges, dtype=np.float64)
    bounds[0], bounds[-1] = 0.0, full
    filled = np.clip((bounds - low) / (high - low), 0.0, 1.0)
    over = _over_chances(healthy)[:, None]
    return np.hstack([np.diff(filled, axis=1) * (1.0 - over), over])


def _reach(healthy: float | OverRange, full: float) -> tuple[FloatArray, FloatArray]:
    """Return the bounds of the numbers that a reading disturbed in each way may show."""
    least = _LEAST_WIDTH * full
    good = full if isinstance(healthy, OverRange) else min(max(healthy, least), full)
    return np.array([0.0, 0.0, min(good, full - least)]), np.array([full, good, full])


def _over_chances(healthy: float | OverRange) -> FloatArray:
    over = np.array(_OVER_RANGE)
    if isinstance(healthy, OverRange):
        over[RAISED] = 1.0
    return over
