"""Which candidates can be there at once, and which are the same fault in another size."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.diagnosis.candidates import Candidate

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]


class SetSpace:
    """What sets can be made of the candidates of a complaint.

    Parameters
    ----------
    listed : sequence of Candidate, length H
    """

    def __init__(self, listed: Sequence[Candidate]) -> None:
        self._listed = listed

    @cached_property
    def family(self) -> IntArray:
        """Number of the family of each candidate, shape (H,); -1 for what is not listed."""
        numbers = _numbers(item.fault.family for item in self._listed)
        unlisted = [item.fault.kind is FaultKind.UNLISTED for item in self._listed]
        return np.where(unlisted, -1, numbers)

    @cached_property
    def _electrical_place(self) -> IntArray:
        """Number of the place of electrical faults, a number of its own for others, (H,)."""
        return _numbers(
            item.fault.place if item.fault.kind.is_electrical else index
            for index, item in enumerate(self._listed)
        )

    def compatible(self, one: IntArray, other: IntArray) -> BoolArray:
        """Return which pairs of candidates are not two faults of one place, shape as both."""
        place = self._electrical_place
        return np.asarray((place[one] != place[other]) & (self.family[one] != self.family[other]))

    @cached_property
    def neighbours(self) -> dict[int, tuple[int, ...]]:
        """Candidates next to each on its grid of magnitudes, itself among them."""
        grids: dict[int, list[int]] = {}
        for index, item in enumerate(self._listed):
            if item.fault.magnitude is not None:
                grids.setdefault(int(self.family[index]), []).append(index)
        near = {}
        for grid in grids.values():
            grid.sort(key=lambda index: self._listed[index].fault.magnitude or 0.0)
            for place, index in enumerate(grid):
                near[index] = tuple(grid[max(0, place - 1) : place + 2])
        return near


def _numbers(words: Iterable[Hashable]) -> IntArray:
    known: dict[Hashable, int] = {}
    return np.array([known.setdefault(word, len(known)) for word in words], dtype=np.intp)
