"""What the readings of a healthy board deviate by together: d ~ N(offset, F Fᵀ + diag(own))."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]

# Directions of a factor that carry less than this share of the greatest are numerical dust.
_DUST = 1e-13


@dataclass(frozen=True, eq=False)
class SharedDeviation:
    """How n readings of a healthy board deviate from the prediction: d ~ N(offset, C).

    The covariance is C = F Fᵀ + diag(own). With the sensitivities J of the readings to parameters
    whose deviations are N(0, Σ), the factor is F = J Σ^½.

    Parameters
    ----------
    offset : ndarray, shape (n,)
        Mean of the deviations [unit of the reading].
    factor : ndarray, shape (n, k)
        F: what each reading feels of each shared quantity θ [unit of the reading].
    own : ndarray, shape (n,)
        Variance of what each reading has for itself [unit²]. Two readings of the same point have
        that in common: give it as a column of `factor` instead.

    Raises
    ------
    MisuseError
        If the shapes disagree, a variance is negative or a number is not finite.
    """

    offset: FloatArray
    factor: FloatArray
    own: FloatArray

    def __post_init__(self) -> None:
        for name in ("offset", "factor", "own"):
            object.__setattr__(self, name, finite(name, getattr(self, name)))
        count = len(self.offset)
        shapes = (self.offset.shape, self.factor.shape[:1], self.own.shape)
        if self.factor.ndim != 2 or shapes != ((count,),) * 3:
            raise MisuseError("offset, rows of the factor and own variances must be equally many")
        if (self.own < 0.0).any():
            raise MisuseError("a variance can not be negative")

    @classmethod
    def of_covariance(
        cls, covariance: ArrayLike, offset: ArrayLike | None = None
    ) -> SharedDeviation:
        """Return the same from a dense covariance.

        Parameters
        ----------
        covariance : array_like, shape (n, n)
            C, positive semidefinite [unit²].
        offset : array_like, shape (n,), or None
            Zero if None.

        Raises
        ------
        MisuseError
            If C is not symmetric or has a negative eigenvalue beyond rounding.
        """
        dense = finite("covariance", covariance)
        if dense.ndim != 2 or not np.allclose(dense, dense.T, rtol=1e-9, atol=0.0):
            raise MisuseError("a covariance must be symmetric")
        values, vectors = np.linalg.eigh(dense)
        greatest = float(abs(values).max(initial=0.0))
        if (values < -1e-9 * greatest).any():
            raise MisuseError("a covariance must have no negative eigenvalue")
        keep = values > _DUST * greatest
        factor = vectors[:, keep] * np.sqrt(values[keep])
        centre = np.zeros(len(dense)) if offset is None else np.asarray(offset, dtype=np.float64)
        return cls(centre, factor, np.zeros(len(dense)))

    @property
    def covariance(self) -> FloatArray:
        """C, shape (n, n) [unit²]."""
        return np.asarray(self.factor @ self.factor.T + np.diag(self.own))

    def take(self, rows: Sequence[int] | NDArray[np.intp]) -> SharedDeviation:
        """Return the same for some of the readings, in the order given; θ stays the same."""
        index = np.asarray(rows, dtype=np.intp)
        return SharedDeviation(self.offset[index], self.factor[index], self.own[index])

    def plus(self, other: SharedDeviation) -> SharedDeviation:
        """Return the sum of two independent deviations of the same readings."""
        return SharedDeviation(
            self.offset + other.offset,
            np.hstack([self.factor, other.factor]),
            self.own + other.own,
        )

    def compressed(self) -> SharedDeviation:
        """Return the same distribution of d with as few shared quantities as it takes.

        At most n and at most the rank of `factor`; θ is another one afterwards.
        """
        left, strengths, _ = np.linalg.svd(self.factor, full_matrices=False)
        keep = strengths > math.sqrt(_DUST) * strengths.max(initial=0.0)
        return SharedDeviation(self.offset, left[:, keep] * strengths[keep], self.own)


def finite(name: str, values: ArrayLike) -> FloatArray:
    """Return an array of numbers, or raise that the one of this name has something else."""
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise MisuseError(f"{name}: every number must be finite")
    return array
