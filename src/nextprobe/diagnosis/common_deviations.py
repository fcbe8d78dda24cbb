"""What the readings of one board deviate by together: the parameters of its parts.

A reading is moved by the clamps and resistances that its circuit depends on. Pins of one kind on
one chip share their clamp, and all clamps of a chip are of one make, so that a lane which reads a
little high says that its siblings do. How strongly a reading feels each parameter follows from the
circuit. How far parameters scatter against each other is common practice, no published source; of
the variance of clamps half is between the kinds of pins of a chip, as
:mod:`nextprobe.reference.clamp_priors` suggests.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from nextprobe.circuit import FaultTable

FloatArray = NDArray[np.float64]

_CLAMP, _SERIES, _LEAK, _RESISTANCE = 2.0, 0.3, 0.5, 0.05
"""Standard deviation of ln(parameter) of a clamp, its series resistance, a load on a rail and a
resistor or coil."""
_OWN_OF_ONE = 0.02
_OWN_OF_SEVERAL = 0.25
# A junction with less slope than this would take several n kT/q more to conduct [V].
_CONDUCTS = 1e-5
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
        self._columns = _columns(table.parameters)
        nets = [point for point in table.points if "." not in point]
        rows = [self._felt(table, net) * (_PREFERRED if net in points else 1.0) for net in nets]
        felt = np.stack([row for row in rows if row.any()] or [np.zeros(len(self._columns))])
        _, strengths, directions = np.linalg.svd(felt, full_matrices=False)
        kept = strengths > _NEGLIGIBLE * max(float(strengths.max(initial=0.0)), 1e-12)
        self._basis = directions[kept][:_MOST]
        self.rank = len(self._basis)

    def own_share(self, table: FaultTable, point: str) -> float:
        """Return the share of the variance of a prediction that the reading has for itself.

        What one junction conducts follows its siblings closely. Where several may conduct, which of
        them does depends on all of them, and a slope at the usual values says little of that.
        """
        slopes = table.sensitivities[table.index(point)]
        names = zip(slopes, table.parameters, strict=True)
        conducting = sum(abs(slope) > _CONDUCTS for slope, name in names if _is_junction(name))
        return _OWN_OF_ONE if conducting <= 1 else _OWN_OF_SEVERAL

    def direction(self, table: FaultTable, point: str) -> FloatArray:
        """Return how a reading depends on the shared quantities, shape (k,), at most of length 1.

        What is short of 1 is its own.

        Parameters
        ----------
        table : FaultTable
            That has the reading.
        point : str
        """
        return np.asarray(self._basis @ self._felt(table, point))

    def _felt(self, table: FaultTable, point: str) -> FloatArray:
        """Return the dependence on all quantities as a unit vector, or zero where there is none."""
        felt = np.zeros(len(self._columns))
        own = 0.0
        slopes = table.sensitivities[table.index(point)]
        for slope, name in zip(slopes, table.parameters, strict=True):
            for column, deviation in _parts(name):
                if column in self._columns:
                    felt[self._columns[column]] += slope * deviation
                else:
                    own += (slope * deviation) ** 2
        length = float(np.sqrt(felt @ felt + own))
        return felt / length if length > _UNFELT else np.zeros_like(felt)


def _is_junction(parameter: str) -> bool:
    """Tell whether a parameter is of a junction to ground, shared by all pins of a kind."""
    upper = parameter.endswith(":upper")
    return parameter.startswith("Is:") and "." not in parameter and not upper


def _columns(parameters: Iterable[str]) -> Mapping[str, int]:
    names = dict.fromkeys(column for name in parameters for column, _ in _parts(name))
    return {name: index for index, name in enumerate(names)}


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
