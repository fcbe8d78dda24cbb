"""Readings between two magnitudes of a grid.

A leak has any resistance, and is listed with a few. Each stands for all between the midpoints to
its neighbours, which read about evenly between the midpoints of what the neighbours read. Such an
even spread is averaged over a few normal distributions side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Fault

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

_PIECES = 5


def by_magnitude(faults: Sequence[Fault]) -> list[IntArray]:
    """Return the faults of each family of several magnitudes, smallest first."""
    families: dict[str, list[int]] = {}
    for index, fault in enumerate(faults):
        if fault.magnitude is not None:
            families.setdefault(fault.family, []).append(index)
    return [
        np.array(sorted(found, key=lambda index: faults[index].magnitude or 0.0))
        for found in families.values()
        if len(found) > 1
    ]


def steps_of(families: Sequence[IntArray], mean: FloatArray, over: BoolArray) -> FloatArray:
    """Return how far the readings of each step reach below and above its own.

    The outermost steps reach as far outwards as inwards.

    Parameters
    ----------
    families : sequence of ndarray of int
        Rows of each family, by magnitude.
    mean : ndarray, shape (N,)
        Readings [V, ohm or F].
    over : ndarray of bool, shape (N,)
        Where it is over-range instead.

    Returns
    -------
    ndarray, shape (2, N)
        Not negative [V, ohm or F].
    """
    steps = np.zeros((2, len(mean)))
    if not families:
        return steps
    rows = np.concatenate(families)
    ends = np.cumsum([len(family) for family in families])
    values = np.where(over[rows], np.nan, mean[rows])
    half = np.diff(values) / 2.0
    half[ends[:-1] - 1] = np.nan
    before, after = np.append(np.nan, half), np.append(half, np.nan)
    first, last = np.append(0, ends[:-1]), ends - 1
    before[first], after[last] = after[first], before[last]
    reach = np.array([-before, after])
    reach[np.isnan(reach)] = 0.0
    steps[0, rows] = np.maximum(-reach, 0.0).max(axis=0)
    steps[1, rows] = np.maximum(reach, 0.0).max(axis=0)
    return steps


@dataclass(frozen=True, eq=False)
class Refined:
    """Rows of predictions, those that stand for a step as several pieces.

    Parameters
    ----------
    mean, deviation : ndarray, shape (P,)
        Of each piece.
    row : ndarray of int, shape (P,)
        The row that it belongs to: every row once, then the further pieces of some.
    wide : ndarray of int, shape (W,)
        Rows that have several pieces.
    """

    mean: FloatArray
    deviation: FloatArray
    row: IntArray
    wide: IntArray

    def averaged(self, values: FloatArray) -> FloatArray:
        """Return the means over the pieces of each row, (N, …), of values of pieces, (P, …)."""
        rows = len(values) - (_PIECES - 1) * len(self.wide)
        found = values[:rows].copy()
        further = values[rows:].reshape(_PIECES - 1, len(self.wide), *values.shape[1:])
        found[self.wide] = (found[self.wide] + further.sum(axis=0)) / _PIECES
        return found


def refined(mean: FloatArray, deviation: FloatArray, step: FloatArray) -> Refined:
    """Return predictions with the rows that stand for a step split into pieces.

    Parameters
    ----------
    mean, deviation : ndarray, shape (N,)
    step : ndarray, shape (2, N)
        As of :func:`steps_of`.
    """
    width = step.sum(axis=0)
    wide = np.flatnonzero(width > 0.0)
    places = (np.arange(_PIECES) + 0.5) / _PIECES
    pieces = (mean - step[0])[wide] + places[:, None] * width[wide]
    spread = np.hypot(deviation[wide], width[wide] / (_PIECES * np.sqrt(12.0)))
    first_mean, first_deviation = mean.copy(), deviation.copy()
    first_mean[wide], first_deviation[wide] = pieces[0], spread
    return Refined(
        np.concatenate([first_mean, pieces[1:].ravel()]),
        np.concatenate([first_deviation, np.tile(spread, _PIECES - 1)]),
        np.concatenate([np.arange(len(mean)), np.tile(wide, _PIECES - 1)]),
        wide,
    )
