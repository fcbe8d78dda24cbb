"""The fault table: predicted readings per probe point and single fault."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array

from nextprobe.board import OVER_RANGE, Fault, FaultClass, OverRange
from nextprobe.circuit.network import Bools, Floats
from nextprobe.errors import MisuseError


@dataclass(frozen=True, eq=False)
class FaultTable:
    """Predicted readings of P points, healthy and under F single faults.

    Parameters
    ----------
    points : tuple of str
        Pins and nets, P of them.
    faults : tuple of Fault
        F of them.
    classes : tuple of FaultClass
        Faults that no reading of this table can tell apart; those that change none are one
        class.
    healthy_values : (P,) array
        Healthy readings [V, ohm or F]; the full scale where over-range.
    healthy_over_range : (P,) bool array
        Where the healthy board reads over-range.
    shifts : (P, F) sparse array
        Faulty minus healthy value, where it exceeds the threshold (0.5 mV, or 0.1 % in other
        modes) or the over-range state changes.
    over_range_changes : (P, F) sparse bool array
        Where the over-range state differs from the healthy one.
    sensitivities : (P, K) array
        Derivatives of the healthy readings to ln(parameter); zero where over-range.
    parameters : tuple of str
        Names of the K parameters that any reading depends on (see `Deviations`).
    key : str
        Hash of the board, set-up, range and deviations that the table was built for.
    """

    points: tuple[str, ...]
    faults: tuple[Fault, ...]
    classes: tuple[FaultClass, ...]
    healthy_values: Floats
    healthy_over_range: Bools
    shifts: csr_array
    over_range_changes: csr_array
    sensitivities: Floats
    parameters: tuple[str, ...]
    key: str

    @cached_property
    def _row_of(self) -> dict[str, int]:
        return {point: row for row, point in enumerate(self.points)}

    @cached_property
    def _column_of(self) -> dict[Fault, int]:
        return {fault: column for column, fault in enumerate(self.faults)}

    def index(self, point: str) -> int:
        """Return the row of a point; raises MisuseError if the table has not got it."""
        try:
            return self._row_of[point]
        except KeyError:
            raise MisuseError(f"no point {point} in the fault table") from None

    def column(self, fault: Fault) -> int:
        """Return the column of a fault; raises MisuseError if the table has not got it."""
        try:
            return self._column_of[fault]
        except KeyError:
            raise MisuseError(f"no fault {fault.key} in the fault table") from None

    def row(self, point: str) -> tuple[Floats, Bools]:
        """Return the readings of a point under every fault.

        Returns
        -------
        values : (F,) array
            Readings [V, ohm or F]; the full scale where over-range.
        over_range : (F,) bool array
            Where the meter shows over-range.
        """
        row = self.index(point)
        values = self.healthy_values[row] + _dense_row(self.shifts, row)
        changed = _dense_row(self.over_range_changes, row) != 0
        return values, changed ^ self.healthy_over_range[row]

    def value(self, point: str, fault: Fault) -> float | OverRange:
        """Return the reading of one point under one fault [V, ohm or F]."""
        column = self.column(fault)
        values, over = self.row(point)
        return OVER_RANGE if over[column] else float(values[column])

    def healthy(self, point: str) -> float | OverRange:
        """Return the healthy reading of one point [V, ohm or F]."""
        row = self.index(point)
        return OVER_RANGE if self.healthy_over_range[row] else float(self.healthy_values[row])


def _dense_row(matrix: csr_array, row: int) -> Floats:
    """Return one row of a sparse matrix as a plain array."""
    first, last = matrix.indptr[row], matrix.indptr[row + 1]
    dense = np.zeros(matrix.shape[1])
    dense[matrix.indices[first:last]] = matrix.data[first:last]
    return dense
