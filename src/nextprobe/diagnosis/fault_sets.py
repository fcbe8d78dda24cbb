"""Sets of faults: every single candidate, then the sets of several that are worth listing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class FaultSets:
    """What may be wrong: S sets over H candidates, of which the first H are the singles.

    Which members of its set a world still has is a bit mask: bit ``k`` stands for member ``k``.

    Parameters
    ----------
    count : int
        H, the number of candidates.
    several : tuple of tuple of int
        Candidates of each set of two or more, rising. Every part of a set that has two or more
        members itself is in the list too.

    Raises
    ------
    MisuseError
        If a set is not of several rising candidates, occurs twice or lacks a part.
    """

    count: int
    several: tuple[tuple[int, ...], ...] = ()

    def __post_init__(self) -> None:
        listed = set(self.several)
        if len(listed) < len(self.several):
            raise MisuseError("a set of faults is listed twice")
        for chosen in self.several:
            if len(chosen) < 2 or list(chosen) != sorted(set(chosen)):
                raise MisuseError(f"{chosen} is no set of several candidates in rising order")
            if not listed.issuperset(parts_of(chosen)):
                raise MisuseError(f"a part of the set {chosen} is not listed")

    def __len__(self) -> int:
        return self.count + len(self.several)

    @cached_property
    def largest(self) -> int:
        """M, the number of members of the largest set."""
        return max((len(chosen) for chosen in self.several), default=1)

    @cached_property
    def members(self) -> IntArray:
        """Candidates of each set, shape (S, M); H stands for nobody."""
        table = np.full((len(self), self.largest), self.count, dtype=np.intp)
        table[: self.count, 0] = np.arange(self.count)
        for row, chosen in enumerate(self.several, start=self.count):
            table[row, : len(chosen)] = chosen
        return table

    @cached_property
    def whole(self) -> IntArray:
        """Mask of all members of each set, shape (S,)."""
        return np.asarray(self.mask(self.members < self.count))

    @cached_property
    def present(self) -> IntArray:
        """Set that is left of each set by mask, shape (S, 2 ** M); S stands for none."""
        known = {chosen: row for row, chosen in enumerate(self.several, start=self.count)}
        table = np.full((len(self), 1 << self.largest), len(self), dtype=np.intp)
        table[: self.count, 1] = np.arange(self.count)
        for row, chosen in enumerate(self.several, start=self.count):
            for mask in range(1, 1 << len(chosen)):
                left = tuple(c for bit, c in enumerate(chosen) if mask >> bit & 1)
                table[row, mask] = left[0] if len(left) == 1 else known[left]
        return table

    def bits(self, masks: IntArray) -> BoolArray:
        """Return masks as one truth value for each member, shape (R, M)."""
        return np.asarray(masks[:, None] >> np.arange(self.largest) & 1, dtype=np.bool_)

    def mask(self, bits: ArrayLike) -> IntArray:
        """Return truth values for each member, shape (R, M), as masks."""
        return np.asarray(bits, dtype=np.intp) @ (1 << np.arange(self.largest, dtype=np.intp))

    def of_members(self, values: NDArray[np.generic], sets: IntArray) -> NDArray[np.generic]:
        """Return a value of candidates, shape (..., H), for each member, (..., R, M).

        Nobody has the value 0.
        """
        nobody = np.zeros((*values.shape[:-1], 1), dtype=values.dtype)
        return np.concatenate([values, nobody], axis=-1)[..., self.members[sets]]

    def any_member(self, values: BoolArray) -> BoolArray:
        """Return which sets have a member for which `values`, shape (H,), is true; (S,)."""
        return np.asarray(self.of_members(values, np.arange(len(self))).any(axis=-1))

    def by_candidate(self, weights: FloatArray, sets: IntArray, bits: BoolArray) -> FloatArray:
        """Return the weight of the worlds that have each candidate, shape (H,).

        Parameters
        ----------
        weights, sets : ndarray, shape (R,)
            Of worlds.
        bits : ndarray of bool, shape (R, M)
            Which members count.
        """
        spread = np.where(bits, weights[:, None], 0.0).ravel()
        members = self.members[sets].ravel()
        return np.bincount(members, spread, self.count + 1)[: self.count].astype(np.float64)


def parts_of(chosen: Sequence[int]) -> list[tuple[int, ...]]:
    """Return the parts of a set that have two or more members, but not all of them."""
    return [part for size in range(2, len(chosen)) for part in combinations(chosen, size)]


def closed(sets: Sequence[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
    """Return sets with all their parts of two or more members, each once, in order."""
    return tuple(dict.fromkeys(s for chosen in sets for s in (chosen, *parts_of(chosen))))


def left_chances(cures: FloatArray, bits: BoolArray) -> FloatArray:
    """Return the chance of every mask after one piece of work, shape (R, 2 ** M).

    Work that is done well takes away all that it can cure, the surest first: one draw for all
    members. The chance that exactly the members in ``t`` are left of those in ``m`` is then
    ``max(0, min over m - t of c - max over t of c)``.

    Parameters
    ----------
    cures : ndarray, shape (R, M)
        Chance of each member to be cured.
    bits : ndarray of bool, shape (R, M)
        Members that are present.
    """
    members = bits.shape[1]
    chances = np.zeros((len(bits), 1 << members))
    for mask in range(1 << members):
        kept = (mask >> np.arange(members) & 1).astype(np.bool_)
        possible = ~(kept & ~bits).any(axis=1)
        least = np.where(bits & ~kept, cures, 1.0).min(axis=1)
        most = np.where(bits & kept, cures, 0.0).max(axis=1)
        chances[:, mask] = np.where(possible, np.maximum(least - most, 0.0), 0.0)
    return chances


def all_cured(cures: FloatArray, bits: BoolArray) -> FloatArray:
    """Return the chance that nothing is left after one piece of work, shape (..., R).

    Parameters
    ----------
    cures : ndarray, shape (..., R, M)
    bits : ndarray of bool, shape (R, M)
    """
    return np.asarray(np.where(bits, cures, 1.0).min(axis=-1))
