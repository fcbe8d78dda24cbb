"""How much of what good boards deviate by is left in a reading that a fault has moved."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Board, Fault, FaultKind
from nextprobe.circuit import junction_share
from nextprobe.diagnosis.effects import site_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

PULLING = frozenset(
    {FaultKind.SHORT, FaultKind.LEAKY, FaultKind.LEAK_TO_GROUND, FaultKind.CLAMP_SHORT}
)
"""Kinds of faults that pull a net down and leave its junctions as they are."""


def is_leak(board: Board, fault: Fault) -> bool:
    """Tell whether a fault takes current from its net to ground, at a pin or through a part."""
    at_a_pin = "." in fault.place
    return fault.kind in PULLING and (at_a_pin or site_of(board, fault).grounded)


def inherited(mean: FloatArray, leaking: BoolArray) -> FloatArray:
    """Return the share of the healthy deviation that each reading in diode mode keeps.

    Where a leak takes the current, the share follows from the circuit. Whatever else moves a
    reading leaves it to some junction, of which a reading has as much as its size: a short has
    none, and none has more than twice (common practice, no published source).

    Parameters
    ----------
    mean : ndarray, shape (N + 1,)
        Computed readings, healthy last [V].
    leaking : ndarray of bool, shape (N + 1,)
        Where nothing but leaks to ground moves it.
    """
    healthy = float(mean[-1])
    if abs(healthy) < 1e-6:
        return np.ones_like(mean)
    in_proportion = np.clip(np.abs(mean) / abs(healthy), 0.0, 2.0)
    taken = leaking & (mean <= healthy)
    return np.where(taken, junction_share(healthy, np.maximum(mean, 0.0)), in_proportion)
