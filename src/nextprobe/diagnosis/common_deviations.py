"""What the readings of one board deviate by together: the parameters of its parts.

A reading is moved by the clamps and resistances that its circuit depends on. Pins of one kind on
one chip share their clamp, and all clamps of a chip are of one make, so that a lane which reads a
little high says that its siblings do. How strongly a reading feels each parameter follows from the
circuit. How far parameters scatter against each other is common practice, no published source; of
the variance of clamps half is between the kinds of pins of a chip, as
:mod:`nextprobe.reference.clamp_priors` suggests.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from nextprobe.circuit import FaultTable

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

_CLAMP, _SERIES, _LEAK, _RESISTANCE = 2.0, 0.3, 0.5, 0.05
"""Standard deviation of ln(parameter) of a clamp, its series resistance, a load on a rail and a
resistor or coil."""
# Shares of the variance of a reading: what it has for itself; and what no slope at the usual values
# tells where several junctions may conduct, shared by readings with the same ones.
_OWN = 0.005
_CURVED = 0.3
# A junction with less slope than this would take several n kT/q more to conduct [V].
_CONDUCTS = 1e-5
# What one deviation of a clamp does to a reading that it decides: twice n kT/q [V].
_ONE_CLAMP = 0.08
_LEAST_MOVED = 0.1
_MOST = 40
_PREFERRED = 4.0
_NEGLIGIBLE = 0.05
_UNFELT = 1e-4


class CommonDeviations:
    """A few shared quantities, and the direction along which each reading depends on them.

    Parameters
    ----------
    table : FaultTable
        Of the usual set-up.
    points : collection of str
        Points of it whose dependence is to be kept best, if it can not be kept of all.

    Attributes
    ----------
    rank : int
        How many quantities there are, k; at most 40.
    """

    def __init__(self, table: FaultTable, points: Collection[str]) -> None:
        nets = [point for point in table.points if "." not in point]
        self._columns = _columns(table, nets)
        self._column_of: dict[tuple[str, ...], IntArray] = {}
        rows = [self._felt(table, net) * (_PREFERRED if net in points else 1.0) for net in nets]
        felt = np.stack([row for row in rows if row.any()] or [np.zeros(len(self._columns))])
        _, strengths, directions = np.linalg.svd(felt, full_matrices=False)
        kept = strengths > _NEGLIGIBLE * max(float(strengths.max(initial=0.0)), 1e-12)
        self._basis = directions[kept][:_MOST]
        self.rank = len(self._basis)

    def direction(self, table: FaultTable, point: str) -> FloatArray:
        """Return how a reading depends on the shared quantities, shape (k,), shorter than 1.

        What is short of 1 is its own. What one junction conducts follows its siblings closely.
        Where several may conduct, which of them does depends on all of them, and a slope at the
        usual values says little of that; but readings of the same junctions go the same way.

        Parameters
        ----------
        table : FaultTable
            That has the reading.
        point : str
        """
        return np.asarray(np.sqrt(1.0 - _OWN) * self._basis @ self._felt(table, point))

    def _felt(self, table: FaultTable, point: str) -> FloatArray:
        """Return the dependence on all quantities as a unit vector, or zero where there is none."""
        moves, column = _moves(table, point), self._columns_for(table)
        shared = column >= 0
        felt = np.bincount(column[shared], moves[shared], len(self._columns)).astype(np.float64)
        length = float(np.sqrt(felt @ felt + (moves[~shared] ** 2).sum()))
        if length <= _UNFELT:
            return np.zeros_like(felt)
        conducting = _conducting(table, point)
        if conducting is None:
            return felt / length
        felt *= np.sqrt(1.0 - _CURVED) / length
        if conducting in self._columns:
            felt[self._columns[conducting]] = np.sqrt(_CURVED)
        return felt

    def _columns_for(self, table: FaultTable) -> IntArray:
        """Return the place of each quantity that a table's parameters deviate by; -1 for none."""
        if table.parameters not in self._column_of:
            names = _quantities(table.parameters).names
            found = [self._columns.get(name, -1) for name in names]
            self._column_of[table.parameters] = np.array(found, dtype=np.intp)
        return self._column_of[table.parameters]


def share_of_a_clamp(table: FaultTable, point: str) -> float:
    """Return how much a reading is moved next to one that a single clamp decides, 0.1 to 1.

    A rail that is loaded to a few millivolts can not be off by as much as a free clamp.
    """
    length = float(np.linalg.norm(_moves(table, point)))
    return float(np.clip(length / _ONE_CLAMP, _LEAST_MOVED, 1.0))


@dataclass(frozen=True, eq=False)
class _Quantities:
    """What K parameters deviate by, Q quantities altogether.

    Parameters
    ----------
    names : tuple of str, length Q
    parameter : ndarray of int, shape (Q,)
        The parameter that each belongs to.
    deviation : ndarray, shape (Q,)
        Standard deviation of ln(parameter) by it.
    junction : ndarray of bool, shape (K,)
        Which parameters are of junctions to ground that all pins of a kind share.
    """

    names: tuple[str, ...]
    parameter: IntArray
    deviation: FloatArray
    junction: BoolArray


@lru_cache(maxsize=64)
def _quantities(parameters: tuple[str, ...]) -> _Quantities:
    found = [(place, *part) for place, name in enumerate(parameters) for part in _parts(name)]
    places, names, deviations = zip(*found, strict=True) if found else ((), (), ())
    junction = np.array([_is_junction(name) for name in parameters], dtype=np.bool_)
    return _Quantities(names, np.array(places, dtype=np.intp), np.array(deviations), junction)


def _moves(table: FaultTable, point: str) -> FloatArray:
    """Return how far one deviation of each quantity moves a reading [V], shape (Q,)."""
    known = _quantities(table.parameters)
    slopes = table.sensitivities[table.index(point)]
    return np.asarray(slopes[known.parameter] * known.deviation)


def _conducting(table: FaultTable, point: str) -> str | None:
    """Return a name for the junctions that may conduct at a point; None if it is one at most."""
    slopes = table.sensitivities[table.index(point)]
    may = np.flatnonzero(_quantities(table.parameters).junction & (np.abs(slopes) > _CONDUCTS))
    names = [table.parameters[place] for place in may]
    return f"conducting {' '.join(sorted(map(_alike, names)))}" if len(names) > 1 else None


def _is_junction(parameter: str) -> bool:
    """Tell whether a parameter is of a junction to ground, shared by all pins of a kind."""
    upper = parameter.endswith(":upper")
    return parameter.startswith("Is:") and "." not in parameter and not upper


def _alike(parameter: str) -> str:
    """Return the name of a junction; parts of their own, such as diodes, go by their letters."""
    return parameter if parameter.count(":") > 1 else parameter.rstrip("0123456789")


def _columns(table: FaultTable, nets: Sequence[str]) -> Mapping[str, int]:
    """Return the place of each shared quantity; what only one net has is no shared one."""
    names = dict.fromkeys(_quantities(table.parameters).names)
    several = Counter(found for net in nets if (found := _conducting(table, net)) is not None)
    shared = [name for name, count in several.items() if count > 1]
    return {name: index for index, name in enumerate((*names, *shared))}


def _parts(parameter: str) -> Iterator[tuple[str, float]]:
    """Yield the quantities that a parameter deviates by, with their standard deviations.

    See :class:`~nextprobe.circuit.Deviations` for the names.
    """
    kind, _, rest = parameter.partition(":")
    chip, of_a_chip, _ = rest.partition(":")
    if kind == "Is" and of_a_chip:
        half = _CLAMP * float(np.sqrt(0.5))
        yield f"chip {chip}", half
        yield parameter, half
    elif kind == "Is" and "." not in rest:
        yield parameter, _CLAMP
    elif kind in ("Rs", "leak", "R"):
        yield parameter, {"Rs": _SERIES, "leak": _LEAK, "R": _RESISTANCE}[kind]
