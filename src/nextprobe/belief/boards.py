"""What readings of known-good boards tell of the next board of their type.

A board deviates from the prediction by what its type has, which includes what the model misses at
each point, and by what it has for itself. Other boards teach the type part::

    reading of board b at point i = prediction + t_i + b_i + e,
    t ~ type part, shared by all boards;   b ~ board part, drawn anew for each;   e ~ meter

It is a linear model with normal effects (Lindley and Smith 1972, J. Royal Statistical Society B 34,
1-41; Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., 15.1): with B boards read at one point
the variance of the type part falls from τ² to 1 / (1/τ² + B / (β² + s²)).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_shared import SharedDeviation
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class BoardReadings:
    """Numbers read on one board that is known to be good.

    Parameters
    ----------
    rows : ndarray of int, shape (m,)
        Which of the n readings each is. Another set-up or meter mode of the same point is another
        reading; a point read twice comes twice.
    differences : ndarray, shape (m,)
        Reading minus what is predicted of a healthy board without deviations [unit of the reading].
    deviation : ndarray, shape (m,)
        Standard uncertainty of the meter that was used [unit of the reading]; positive.

    Raises
    ------
    MisuseError
        If the shapes disagree, a number is not finite or an uncertainty not positive.
    """

    rows: IntArray
    differences: FloatArray
    deviation: FloatArray

    def __post_init__(self) -> None:
        rows = np.asarray(self.rows, dtype=np.intp)
        differences = np.asarray(self.differences, dtype=np.float64)
        deviation = np.asarray(self.deviation, dtype=np.float64)
        if rows.ndim != 1 or not rows.shape == differences.shape == deviation.shape:
            raise MisuseError("a row, a difference and an uncertainty are needed for each reading")
        if not np.isfinite(differences).all() or not np.isfinite(deviation).all():
            raise MisuseError("readings of boards must be finite numbers")
        if (deviation <= 0.0).any():
            raise MisuseError("the uncertainty of a reading must be positive")
        object.__setattr__(self, "rows", rows)
        object.__setattr__(self, "differences", differences)
        object.__setattr__(self, "deviation", deviation)


def learned_type(
    type_part: SharedDeviation, board_part: SharedDeviation, boards: Sequence[BoardReadings]
) -> SharedDeviation:
    """Return what is known of the type part after reading some boards.

    Parameters
    ----------
    type_part : SharedDeviation
        Of all n readings, before any board; its `own` variances are what the model misses at each
        reading alike on all boards.
    board_part : SharedDeviation
        How one board differs from its type, for the same n readings.
    boards : sequence of BoardReadings
        One of each board; the order does not matter.

    Raises
    ------
    MisuseError
        If the parts are of different readings or a row is none of them.
    """
    count = len(type_part.offset)
    if len(board_part.offset) != count:
        raise MisuseError("type and board part must be of the same readings")
    read = np.unique(np.concatenate([np.zeros(0, dtype=np.intp), *(b.rows for b in boards)]))
    if read.size and not 0 <= read[0] <= read[-1] < count:
        raise MisuseError(f"rows of readings go from 0 to {count - 1}")
    features = _features(type_part, read)
    information, target = np.eye(features.shape[1]), np.zeros(features.shape[1])
    centre = type_part.offset + board_part.offset
    for board in boards:
        seen = features[board.rows]
        spread = _spread(board_part, board)
        weighed = np.linalg.solve(spread, seen)
        information += seen.T @ weighed
        target += weighed.T @ (board.differences - centre[board.rows])
    root = np.linalg.inv(np.linalg.cholesky(information)).T
    own = type_part.own.copy()
    own[read] = 0.0
    offset = type_part.offset + features @ (root @ (root.T @ target))
    return SharedDeviation(offset, features @ root, own)


def next_board(
    type_part: SharedDeviation, board_part: SharedDeviation, boards: Sequence[BoardReadings]
) -> SharedDeviation:
    """Return how the next board of the type deviates, after reading some others.

    The `shared` of a :class:`~nextprobe.belief.joint_model.JointModel` of that board's readings.

    Parameters
    ----------
    type_part, board_part, boards
        As of :func:`learned_type`.
    """
    return learned_type(type_part, board_part, boards).plus(board_part).compressed()


def _features(part: SharedDeviation, read: IntArray) -> FloatArray:
    """Return the factor with a column more for the own deviation of each reading that was read."""
    columns = np.zeros((len(part.offset), len(read)))
    columns[read, np.arange(len(read))] = np.sqrt(part.own[read])
    return np.hstack([part.factor, columns])


def _spread(part: SharedDeviation, board: BoardReadings) -> FloatArray:
    """Return the covariance of one board's readings given the type, (m, m) [unit²]."""
    inside = part.take(board.rows)
    same = board.rows[:, None] == board.rows[None, :]
    own = np.where(same, inside.own[:, None], 0.0)
    return np.asarray(inside.factor @ inside.factor.T + own + np.diag(board.deviation**2))
