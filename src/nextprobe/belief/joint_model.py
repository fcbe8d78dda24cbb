"""Readings that share what they deviate by: what is predicted of all of them together.

Under group ``g`` of hypotheses (those that predict the same) the reading ``i`` is::

    y_i = m_gi + r_gi d_i + e_gi,    d = offset + F θ + own,
    θ ~ N(0, I),   own_i ~ N(0, own variance_i),   e_gi ~ N(0, s_gi²)

so that all readings are jointly normal: how far one board lies from the prediction at one point
tells where it lies at others. A fault that takes a point away from what makes it deviate, such as
a short, has ``r_gi = 0``; one that leaves it alone has 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.belief.joint_shared import SharedDeviation, finite
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class JointModel:
    """What G groups of hypotheses predict of n readings that share their deviations.

    Parameters
    ----------
    shared : SharedDeviation
        How the n readings deviate on a healthy board, common to all groups.
    mean : ndarray, shape (G, n)
        m: the reading where nothing deviates [unit of the reading].
    inherit : ndarray, shape (G, n) or broadcast to it
        r: the factor by which the reading takes part in the healthy deviation [1].
    deviation : ndarray, shape (G, n) or broadcast to it
        s: standard deviation of what is independent (meter, contact, this fault's own spread)
        [unit of the reading]; positive.
    over : ndarray of bool, shape (G, n) or broadcast to it
        Where over-range is predicted as a state, whatever deviates; `mean`, `inherit` and
        `deviation` are not used there.
    limit : ndarray, shape (n,) or broadcast to it
        The greatest number that can be shown [unit of the reading]; beyond it is over-range.

    Raises
    ------
    MisuseError
        If shapes disagree, a number is not finite or a deviation is not positive.
    """

    shared: SharedDeviation
    mean: FloatArray
    inherit: FloatArray
    deviation: FloatArray
    over: BoolArray
    limit: FloatArray

    def __init__(
        self,
        shared: SharedDeviation,
        mean: ArrayLike,
        inherit: ArrayLike,
        deviation: ArrayLike,
        *,
        over: ArrayLike = False,
        limit: ArrayLike = math.inf,
    ) -> None:
        means = np.asarray(mean, dtype=np.float64)
        if means.ndim != 2 or means.shape[1] != len(shared.offset):
            raise MisuseError(f"means have {means.shape}, readings are {len(shared.offset)}")
        overs = _broadcast("over", over, means.shape).astype(np.bool_)
        fields = {
            "mean": (means, 0.0),
            "inherit": (_broadcast("inherit", inherit, means.shape), 0.0),
            "deviation": (_broadcast("deviation", deviation, means.shape), 1.0),
        }
        object.__setattr__(self, "shared", shared)
        object.__setattr__(self, "over", overs)
        object.__setattr__(self, "limit", _broadcast("limit", limit, means.shape[1:]))
        for name, (values, unused) in fields.items():
            object.__setattr__(self, name, finite(name, np.where(overs, unused, values)))
        if (self.deviation <= 0.0).any():
            raise MisuseError("the standard deviation of a prediction must be positive")

    @property
    def groups(self) -> int:
        """G."""
        return len(self.mean)

    @property
    def readings(self) -> int:
        """Number of readings, n."""
        return int(self.mean.shape[1])

    @property
    def noise(self) -> FloatArray:
        """Variance of each reading that it shares with no other, (G, n) [unit²]."""
        return np.asarray(self.inherit**2 * self.shared.own + self.deviation**2)

    @property
    def expected(self) -> FloatArray:
        """Mean of each reading before any is taken, (G, n) [unit of the reading]."""
        return np.asarray(self.mean + self.inherit * self.shared.offset)

    def take(self, columns: Sequence[int] | NDArray[np.intp]) -> JointModel:
        """Return the model of some of the readings, in the order given."""
        index = np.asarray(columns, dtype=np.intp)
        return JointModel(
            self.shared.take(index),
            self.mean[:, index],
            self.inherit[:, index],
            self.deviation[:, index],
            over=self.over[:, index],
            limit=self.limit[index],
        )

    def select(self, groups: Sequence[int] | NDArray[np.intp] | slice) -> JointModel:
        """Return the model of some of the groups, in the order given."""
        return JointModel(
            self.shared,
            self.mean[groups],
            self.inherit[groups],
            self.deviation[groups],
            over=self.over[groups],
            limit=self.limit,
        )

    def compressed(self) -> JointModel:
        """Return the same predictions with as few shared quantities as it takes."""
        shared = self.shared.compressed()
        return JointModel(
            shared, self.mean, self.inherit, self.deviation, over=self.over, limit=self.limit
        )

    def without(self, which: BoolArray) -> JointModel:
        """Return the same with over-range predicted where `which`, (G, n), is true."""
        return JointModel(
            self.shared,
            self.mean,
            self.inherit,
            self.deviation,
            over=self.over | which,
            limit=self.limit,
        )

    def observed(self, values: Sequence[float | None]) -> FloatArray:
        """Return what was seen as numbers, over-range as infinity, shape (n,).

        Parameters
        ----------
        values : sequence of float or None, length n
            What was seen [unit of the reading]; None is over-range.

        Raises
        ------
        MisuseError
            If there are not n of them, one is not finite or lies beyond its limit, or over-range
            is seen where there is no limit.
        """
        numbers = np.array([math.inf if value is None else value for value in values])
        if numbers.shape != (self.readings,):
            raise MisuseError(f"{numbers.size} values for {self.readings} readings")
        seen = np.array([value is not None for value in values], dtype=np.bool_)
        if not np.isfinite(numbers[seen]).all():
            raise MisuseError("a reading must be a finite number, or None for over-range")
        if (numbers[seen] > self.limit[seen]).any():
            raise MisuseError("a number beyond the limit is over-range, not a number")
        if not np.isfinite(self.limit[~seen]).all():
            raise MisuseError("a reading without a limit can not be over-range")
        return numbers


def _broadcast(name: str, values: ArrayLike, shape: tuple[int, ...]) -> FloatArray:
    try:
        return np.broadcast_to(np.asarray(values, dtype=np.float64), shape)
    except ValueError as error:
        raise MisuseError(f"{name} does not fit the shape {shape}") from error
