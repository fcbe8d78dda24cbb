"""Readings of points and faults, gathered into a fault table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import coo_array, csc_array, csr_array

from nextprobe.board import Fault, FaultClass, MeterMode
from nextprobe.circuit.network import Bools, Floats, Ints

LEAST_SHIFT = 0.5e-3
"""Shift of a diode-mode reading from which on it is stored [V]."""
LEAST_RELATIVE_SHIFT = 1e-3
"""The same for other modes, relative to the healthy reading [1]."""


@dataclass
class Shifts:
    """Entries of a table while it is being filled.

    Parameters
    ----------
    mode : MeterMode
        Decides what is too small to store.
    values, over : (P,) arrays
        Healthy readings and where they are over-range.
    """

    mode: MeterMode
    values: Floats
    over: Bools
    _rows: list[Ints] = field(default_factory=list)
    _columns: list[Ints] = field(default_factory=list)
    _shifts: list[Floats] = field(default_factory=list)
    _changes: list[Bools] = field(default_factory=list)

    def add(self, rows: Sequence[int], columns: Sequence[int], value: float, over: bool) -> None:
        """Store a reading for all `rows` under all `columns`, if it differs enough."""
        row = np.asarray(rows, dtype=np.int64)
        shift = value - self.values[row]
        change = self.over[row] != over
        keep = change | (np.abs(shift) > self._least(row))
        row, shift, change = row[keep], shift[keep], change[keep]
        column = np.asarray(columns, dtype=np.int64)
        self._rows.append(np.repeat(row, len(column)))
        self._columns.append(np.tile(column, len(row)))
        self._shifts.append(np.repeat(shift, len(column)))
        self._changes.append(np.repeat(change, len(column)))

    def _least(self, rows: Ints) -> Floats:
        if self.mode is MeterMode.DIODE:
            return np.full(len(rows), LEAST_SHIFT)
        return LEAST_RELATIVE_SHIFT * np.abs(self.values[rows])

    def matrices(self, fault_count: int) -> tuple[csr_array, csr_array]:
        """Return shifts and over-range changes as (P, F) sparse arrays."""
        shape = len(self.values), fault_count
        if not self._rows:
            return csr_array(shape), csr_array(shape, dtype=np.bool_)
        rows, columns = np.concatenate(self._rows), np.concatenate(self._columns)
        shifts, changes = np.concatenate(self._shifts), np.concatenate(self._changes)
        return (
            csr_array(coo_array((shifts, (rows, columns)), shape=shape)),
            csr_array(
                coo_array((changes[changes], (rows[changes], columns[changes])), shape=shape)
            ),
        )


def alike(faults: Sequence[Fault], shifts: csr_array, changes: csr_array) -> tuple[FaultClass, ...]:
    """Return the faults grouped by equal readings at every point (to 1 in 10⁹)."""
    by_fault, flips = shifts.tocsc(), changes.tocsc()
    groups: dict[object, list[Fault]] = {}
    for column, fault in enumerate(faults):
        groups.setdefault((_column(by_fault, column), _column(flips, column)), []).append(fault)
    return tuple(FaultClass(members[0], tuple(members)) for members in groups.values())


def _column(matrix: csc_array, column: int) -> tuple[bytes, tuple[str, ...]]:
    first, last = matrix.indptr[column], matrix.indptr[column + 1]
    values = tuple(f"{value:.9g}" for value in matrix.data[first:last])
    return matrix.indices[first:last].tobytes(), values
