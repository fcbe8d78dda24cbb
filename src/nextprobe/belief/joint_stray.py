"""Readings that have nothing to do with what is predicted: slips, residue and the like.

With some chance a reading strays: it then comes from a density of its own and says nothing of the
deviations that the others share. Several causes of straying are one such mixture.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]

_SUM_TOLERANCE = 1e-9


@dataclass(frozen=True, eq=False)
class Stray:
    """The chance that each of n readings strays under each of G groups, and how likely it is then.

    Parameters
    ----------
    chance : ndarray, shape (G, n)
        That the reading strays, from 0 to 1; independent from reading to reading.
    log_density : ndarray, shape (G, n)
        Logarithm of the density of the number that was seen, or of the chance of over-range where
        that was seen, given that it strays; minus infinity allowed.

    Raises
    ------
    MisuseError
        If the shapes disagree or a chance is none.
    """

    chance: FloatArray
    log_density: FloatArray

    def __post_init__(self) -> None:
        chance = np.asarray(self.chance, dtype=np.float64)
        density = np.asarray(self.log_density, dtype=np.float64)
        if chance.ndim != 2 or chance.shape != density.shape:
            raise MisuseError(f"chances have {chance.shape}, densities {density.shape}")
        if not ((chance >= 0.0) & (chance <= 1.0)).all():
            raise MisuseError("a chance to stray is not between 0 and 1")
        if np.isnan(density).any() or (density == np.inf).any():
            raise MisuseError("a log density must be a number or minus infinity")
        object.__setattr__(self, "chance", chance)
        object.__setattr__(self, "log_density", density)

    @classmethod
    def never(cls, groups: int, readings: int) -> Stray:
        """Return that no reading strays."""
        shape = (groups, readings)
        return cls(np.zeros(shape), np.full(shape, -np.inf))

    @classmethod
    def slips(cls, groups: int, chance: ArrayLike, log_density: ArrayLike) -> Stray:
        """Return slips, which are alike under all groups.

        Parameters
        ----------
        groups : int
            G.
        chance, log_density : array_like, shape (n,) or ()
            As of :class:`Stray`.
        """
        pair = np.broadcast_arrays(
            np.atleast_1d(np.asarray(chance, dtype=np.float64)),
            np.asarray(log_density, dtype=np.float64),
        )
        return cls(*(np.broadcast_to(each, (groups, each.size)) for each in pair))

    @classmethod
    def ways(cls, chances: ArrayLike, log_densities: ArrayLike) -> Stray:
        """Return one cause with several ways that exclude each other.

        Parameters
        ----------
        chances : array_like, shape (W, G, n)
            Of each way; their sum over W is at most one.
        log_densities : array_like, shape (W, G, n) or broadcast to it
            Given the way.

        Raises
        ------
        MisuseError
            If the chances of a reading sum to more than one.
        """
        parts = np.asarray(chances, dtype=np.float64)
        densities = np.broadcast_to(np.asarray(log_densities, dtype=np.float64), parts.shape)
        total = parts.sum(axis=0)
        if (parts < 0.0).any() or (total > 1.0 + _SUM_TOLERANCE).any():
            raise MisuseError("chances of ways that exclude each other sum to more than one")
        total = np.minimum(total, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            joint = np.logaddexp.reduce(np.log(parts) + densities, axis=0)
            density = np.where(total > 0.0, joint - np.log(total), -np.inf)
        return cls(total, density)

    def unless(self, other: Stray) -> Stray:
        """Return both causes together, independent of each other; where both act, `other` wins.

        Parameters
        ----------
        other : Stray
            Such as a slip, which hides what residue does to the reading.
        """
        parts = [(1.0 - other.chance) * self.chance, other.chance]
        return Stray.ways(parts, [self.log_density, other.log_density])

    def take(self, columns: ArrayLike) -> Stray:
        """Return the same for some of the readings."""
        index = np.asarray(columns, dtype=np.intp)
        return Stray(self.chance[:, index], self.log_density[:, index])

    def select(self, groups: ArrayLike | slice) -> Stray:
        """Return the same for some of the groups."""
        index = groups if isinstance(groups, slice) else np.asarray(groups, dtype=np.intp)
        return Stray(self.chance[index], self.log_density[index])

    def repeated(self, times: int) -> Stray:
        """Return the same with each group that many times in a row."""
        return Stray(self.chance.repeat(times, axis=0), self.log_density.repeat(times, axis=0))

    @property
    def log_held(self) -> FloatArray:
        """Logarithm of the chance that the reading does not stray, (G, n)."""
        with np.errstate(divide="ignore"):
            return np.asarray(np.log1p(-self.chance))

    @property
    def log_strayed(self) -> FloatArray:
        """Logarithm of chance times density of straying, (G, n)."""
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(self.chance) + self.log_density)
