"""How likely faults come together: what happened to a device may have harmed it in several places.

Given what brought the faults about, they are independent; it is the mixture over what may have
done so that makes two faults of one cause likelier than their rates alone would.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import factorial

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Board, FaultKind, PartKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.packs.schema import Pack

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# Of the faults of a row of joints that one blow opens, this part is of such rows.
_IN_A_ROW = 0.3
_LARGEST_ROW = 3
_BLOWS = ("drop",)


@dataclass(frozen=True, eq=False)
class Together:
    """Prior chances of sets of several faults.

    Every member shows itself in the complaint. Against one single fault being there, whose chances
    sum to one, an event that is to blame has left a second fault with some chance, drawn from the
    same shares; a fault that has nothing to do with it is there as well with a small chance.

    Parameters
    ----------
    shares : ndarray, shape (K, H)
        Share of each candidate in what an event does; the last event is mere coincidence.
    chances : ndarray, shape (K,)
        Chance that the event is to blame and has left two faults.
    rows : tuple of (tuple of int, float)
        Sets of neighbouring joints that one blow opens, each with its chance.
    """

    shares: FloatArray
    chances: FloatArray
    rows: tuple[tuple[tuple[int, ...], float], ...] = ()

    def priors(self, sets: IntArray) -> FloatArray:
        """Return the prior of sets of two or three candidates.

        A third fault of one event is as likely again as the second was.

        Parameters
        ----------
        sets : ndarray of int, shape (N, size)
            Candidates in rising order.

        Returns
        -------
        ndarray, shape (N,)
        """
        size = sets.shape[1]
        joint = np.ones((len(self.chances), len(sets)))
        for member in range(size):
            joint *= self.shares[:, sets[:, member]]
        chances = factorial(size) * (self.chances ** (size - 1) @ joint)
        if self._rows_by_key:
            keys = self._keys(sets).tolist()
            chances = chances + np.array([self._rows_by_key.get(key, 0.0) for key in keys])
        return np.asarray(chances)

    @cached_property
    def ceiling(self) -> float:
        """Upper bound on the prior of all sets of two or three candidates together."""
        pairs = self.chances @ (1.0 - (self.shares**2).sum(axis=1))
        triples = (self.chances**2).sum()
        return float(pairs + triples + sum(chance for _, chance in self.rows))

    @cached_property
    def _rows_by_key(self) -> dict[int, float]:
        return {int(self._keys(np.array([row]))[0]): chance for row, chance in self.rows}

    def _keys(self, sets: IntArray) -> IntArray:
        count = self.shares.shape[1] + 1
        keys = np.zeros(len(sets), dtype=np.intp)
        for member in range(sets.shape[1]):
            keys = keys * count + sets[:, member] + 1
        return keys


def faults_together(
    pack: Pack,
    board: Board | None,
    history: Sequence[str],
    listed: Sequence[Candidate],
    prior: FloatArray,
) -> Together:
    """Return how likely the candidates come together, given what happened to the device.

    An event is to blame for as much of a single fault as its factor raised the share of that
    fault's cause: of a share that liquid makes eight times as large, seven parts in eight.

    Parameters
    ----------
    history : sequence of str
        What happened.
    listed : sequence of Candidate, length H
    prior : ndarray, shape (H,)
        Of the candidates alone.
    """
    known = np.array([item.cause is not None for item in listed])
    events, chances = [], []
    for word in history:
        blamed = prior * np.array([_blame(pack, word, item) for item in listed])
        if blamed.any() and pack.together.get(word, 0.0):
            events.append(blamed / blamed.sum())
            chances.append(float(blamed.sum()) * pack.together[word])
    others = prior * known
    if others.any():
        events.append(others / others.sum())
        chances.append(pack.coincidence)
    rows = tuple(_rows(board, listed, prior)) if set(history) & set(_BLOWS) and board else ()
    shares = np.array(events).reshape(len(events), len(listed))
    return Together(shares, np.array(chances), rows)


def _blame(pack: Pack, word: str, item: Candidate) -> float:
    factor = pack.history[word].get(item.cause, 1.0) if item.cause else 1.0
    return max(0.0, 1.0 - 1.0 / factor) if factor > 0.0 else 0.0


def _rows(
    board: Board, listed: Sequence[Candidate], prior: FloatArray
) -> list[tuple[tuple[int, ...], float]]:
    """Return neighbouring joints of one part that open at one blow, as sets with their chance."""
    joints = {
        item.fault.place: index
        for index, item in enumerate(listed)
        if item.fault.kind is FaultKind.JOINT_OPEN
    }
    found: list[tuple[tuple[int, ...], float]] = []
    for part in board.parts:
        if part.kind not in (PartKind.CONNECTOR, PartKind.CHIP):
            continue
        names = [f"{part.reference}.{pin.number}" for pin in part.pins]
        for size in range(2, _LARGEST_ROW + 1):
            for start in range(len(names) - size + 1):
                row = [joints[name] for name in names[start : start + size] if name in joints]
                if len(row) == size:
                    share = _IN_A_ROW / (size - 1) / 2.0
                    found.append((tuple(sorted(row)), float(share * prior[row].mean())))
    return found
