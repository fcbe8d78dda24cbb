"""Worlds that no plan can tell apart, put together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import ACTIVE, CURED_AT, HEARD, HYPOTHESIS, READ_AS, SHOWS, WAYS

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Grouping:
    """Worlds that no plan can tell apart, put together.

    Parameters
    ----------
    first : ndarray of int, shape (G,)
        One world of each group.
    order : ndarray of int, shape (R,)
        Worlds sorted by group.
    starts : ndarray of int, shape (G,)
        Where each group starts in `order`.
    codes : bytes
        Equal for two ensembles of one model that have the same groups.
    """

    first: IntArray
    order: IntArray
    starts: IntArray
    codes: bytes

    def sums(self, weights: FloatArray) -> FloatArray:
        """Return sums over groups, shape (..., G), of weights of worlds, (..., R)."""
        return np.asarray(np.add.reduceat(weights[..., self.order], self.starts, axis=-1))


def grouping(model: Model, ensemble: Ensemble) -> Grouping:
    """Group the worlds of an ensemble by class of fault and by everything drawn once."""
    code = model.world_class[ensemble.columns[HYPOTHESIS]]
    for name, column in ensemble.columns.items():
        if not _is_past(name) and name != HYPOTHESIS:
            code = code * _codes(model, name) + column
    order = np.argsort(code, kind="stable")
    ranked = code[order]
    starts = np.flatnonzero(np.concatenate(([True], ranked[1:] != ranked[:-1])))
    names = " ".join(name for name in ensemble.columns if not _is_past(name)).encode()
    return Grouping(order[starts], order, starts, names + ranked[starts].tobytes())


def _is_past(column: str) -> bool:
    """Tell whether a column says what was observed, which no plan depends on."""
    return column in (CURED_AT, READ_AS) or column.startswith(HEARD)


def _codes(model: Model, column: str) -> int:
    """Return how many codes a column may have: equal for all ensembles of a model."""
    if column.startswith(SHOWS):
        return int(WAYS**model.sets.largest)
    return int(2**model.sets.largest) if column == ACTIVE else 2
