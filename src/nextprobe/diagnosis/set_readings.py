"""What the meter should show where several faults are on the board at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import BenchSetup, Board, Fault, Meter, MeterMode, OverRange
from nextprobe.circuit import Circuit
from nextprobe.diagnosis.fault_sets import FaultSets
from nextprobe.diagnosis.vague import several
from nextprobe.errors import SolverError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class SetRows:
    """A computed reading under each of N things that may be wrong, and healthy as the last row.

    Parameters
    ----------
    mean : ndarray, shape (N + 1,)
        [V, ohm or F].
    over : ndarray of bool, shape (N + 1,)
        Where it is over-range instead.
    disturbed : ndarray, shape (3, N + 1)
        Chance of each way in which a fault without a circuit model disturbs it.
    step : ndarray, shape (2, N + 1)
        How far the readings of a step of a grid of magnitudes reach below and above the mean.
    leaking : ndarray of bool, shape (N + 1,)
        Where nothing but leaks from the net itself to ground moves it.
    """

    mean: FloatArray
    over: BoolArray
    disturbed: FloatArray
    step: FloatArray
    leaking: BoolArray


class SetReadings:
    """Adds rows for sets of several faults to the rows of the candidates alone.

    Where one member of a set moves a reading, it reads as under that member. Where several do,
    the circuit is solved with all of them; if it can not be, or the board is live, their shifts
    add.

    Parameters
    ----------
    board : Board
    meter : Meter
    sets : FaultSets or None
        None where there are no sets of several.
    faults : sequence of Fault, length H
        What the candidates are.
    """

    def __init__(
        self,
        board: Board,
        meter: Meter,
        sets: FaultSets | None = None,
        faults: Sequence[Fault] = (),
    ) -> None:
        self._board = board
        self._meter = meter
        self._sets = sets
        self._faults = faults
        self._solved: dict[tuple[tuple[Fault, ...], BenchSetup, str], float | OverRange | None] = {}
        self._circuits: dict[tuple[tuple[Fault, ...], BenchSetup], Circuit] = {}

    def with_sets(self, sets: FaultSets, faults: Sequence[Fault]) -> SetReadings:
        """Return the same for other sets; what was solved before is shared."""
        other = SetReadings(self._board, self._meter, sets, faults)
        other._solved, other._circuits = self._solved, self._circuits
        return other

    def rows(self, point: str, setup: BenchSetup, alone: SetRows) -> SetRows:
        """Return the rows of all sets, healthy last, from those of the candidates alone."""
        if self._sets is None or not self._sets.several:
            return alone
        members = self._sets.members[self._sets.count :]
        moves = self._moves(alone, setup)[members]
        mover = np.take_along_axis(members, moves.argmax(axis=1)[:, None], axis=1)[:, 0]
        row = np.where(moves.any(axis=1), mover, self._sets.count)
        mean, over = alone.mean[row], alone.over[row]
        for index in np.flatnonzero(moves.sum(axis=1) > 1):
            those = members[index][moves[index]]
            mean[index], over[index] = self._together(point, setup, alone, those)
        step = np.sqrt((np.where(moves, alone.step[:, members], 0.0) ** 2).sum(axis=-1))
        leaks = np.logical_or(alone.leaking[members], ~moves).all(axis=1)
        leaking = np.asarray(np.logical_and(leaks, moves.any(axis=1)))
        return SetRows(
            _inserted(alone.mean, mean),
            _inserted(alone.over, over),
            _inserted(alone.disturbed, several(alone.disturbed, members)),
            _inserted(alone.step, step),
            _inserted(alone.leaking, leaking),
        )

    def _moves(self, alone: SetRows, setup: BenchSetup) -> BoolArray:
        """Return which rows differ from healthy by more than the meter could tell."""
        meter = self._meter.range_for(setup.mode)
        least = meter.standard_uncertainty(float(alone.mean[-1]))
        differs = np.abs(alone.mean - alone.mean[-1]) > least
        either_over = alone.over | alone.over[-1]
        return np.asarray(np.where(either_over, alone.over != alone.over[-1], differs))

    def _together(
        self, point: str, setup: BenchSetup, alone: SetRows, those: IntArray
    ) -> tuple[float, bool]:
        """Return value and over-range where all of some candidates move the reading."""
        value = self._solve(point, setup, tuple(self._faults[member] for member in those))
        if value is None:
            shifts = alone.mean[those] - alone.mean[-1]
            added = max(0.0, float(alone.mean[-1] + shifts.sum()))
            return added, bool(alone.over[those].all())
        if isinstance(value, OverRange):
            return float(alone.mean[-1]), True
        return value, False

    def _solve(
        self, point: str, setup: BenchSetup, faults: tuple[Fault, ...]
    ) -> float | OverRange | None:
        if setup.mode is MeterMode.DC_VOLTS:
            return None
        key = faults, setup, point
        if key not in self._solved:
            try:
                self._solved[key] = self._circuit(faults, setup).readings((point,))[point]
            except SolverError:
                self._solved[key] = None
        return self._solved[key]

    def _circuit(self, faults: tuple[Fault, ...], setup: BenchSetup) -> Circuit:
        """Return the board with all these faults; building it takes longer than solving it."""
        key = faults, setup
        if key not in self._circuits:
            meter = self._meter.range_for(setup.mode)
            self._circuits[key] = Circuit(self._board, setup, meter, faults)
        return self._circuits[key]


def _inserted(alone: NDArray[np.generic], those: NDArray[np.generic]) -> NDArray:  # type: ignore[type-arg]
    """Put rows between the candidates and the healthy board."""
    return np.concatenate([alone[..., :-1], those, alone[..., -1:]], axis=-1)
