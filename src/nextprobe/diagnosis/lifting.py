"""Taking a part off a net that reads low and measuring again: it tells the part from the chip."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import GROUND, BenchSetup, Board, MeterMode, Part, PartKind
from nextprobe.diagnosis.acts import Act, Work
from nextprobe.diagnosis.effects import site_of
from nextprobe.diagnosis.inheritance import PULLING
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.diagnosis.model import Model
from nextprobe.errors import UnknownStepError

FloatArray = NDArray[np.float64]

LIFT = "lift"
WORK: Mapping[PartKind, str] = {
    PartKind.PROTECTION: "protection remove",
    PartKind.CAPACITOR: "capacitor remove",
}
"""The work that takes a part off, by its kind."""

_OFFERED = 3
# A part is lifted to see only where it and a rival on its net are both this likely.
_WORTH_LIFTING = 0.04


def lifted(board: Board, reference: str) -> Part | None:
    """Return a part that can be lifted to see: one between a net and ground."""
    part = board.by_reference.get(reference)
    if part is None or part.kind not in WORK or part.implied or len(part.pins) != 2:
        return None
    return part if sum(pin.net == GROUND for pin in part.pins) == 1 else None


def lift_acts(model: Model, reference: str) -> tuple[Act, ...]:
    """Return the acts: take the part off, then measure its net.

    Raises
    ------
    UnknownStepError
        If there is no such part, or it does not hang on a net.
    """
    part = lifted(model.board, reference) if model.board is not None else None
    if part is None or WORK[part.kind] not in model.pack.work:
        raise UnknownStepError(f"{reference} is no part that can be lifted to measure again")
    assert model.board is not None
    return Work(WORK[part.kind], reference), after_lifting(model.board, part).act()


def after_lifting(board: Board, part: Part) -> Measurement:
    """Return what is measured once a part is off: supplies in ohms, signals in diode mode."""
    pin = next(pin for pin in part.pins if pin.net != GROUND)
    mode = MeterMode.OHMS if board.role(pin.net).is_supply else MeterMode.DIODE
    contacts = (
        f"{other.reference}.{contact.number}"
        for other, contact in board.parts_on(pin.net)
        if other.kind is PartKind.CONNECTOR
    )
    return Measurement(next(contacts, pin.net), BenchSetup(mode))


class Lifting:
    """Which parts are worth taking off to measure again, in one model.

    Parameters
    ----------
    model : Model
    """

    def __init__(self, model: Model) -> None:
        self._model = model

    @cached_property
    def _pulling(self) -> list[tuple[str, int, frozenset[str]]]:
        """The part, the number and the nets of each candidate that pulls a net down."""
        board = self._model.board
        if board is None:
            return []
        return [
            (item.fault.place.partition(".")[0], index, site_of(board, item.fault).nets)
            for index, item in enumerate(self._model.listed)
            if item.fault.kind in PULLING and item.located
        ]

    def worth(self, chances: FloatArray, removed: frozenset[str]) -> list[str]:
        """Return the parts whose lifting may tell most, likeliest first.

        Parameters
        ----------
        chances : ndarray, shape (H,)
            Of each candidate.
        removed : frozenset of str
            Parts that are off already.
        """
        by_net: dict[str, float] = {}
        by_part: dict[str, float] = {}
        for name, index, nets in self._pulling:
            weight = float(chances[index])
            by_part[name] = by_part.get(name, 0.0) + weight
            for net in nets:
                by_net[net] = by_net.get(net, 0.0) + weight
        likely = [name for name, chance in by_part.items() if chance >= _WORTH_LIFTING]
        found = [
            name for name in likely if name not in removed and self._rivalled(name, by_part, by_net)
        ]
        return sorted(found, key=lambda name: -by_part[name])[:_OFFERED]

    def _rivalled(
        self, reference: str, by_part: Mapping[str, float], by_net: Mapping[str, float]
    ) -> bool:
        """Tell whether a part can be lifted and something else may pull its net down as well."""
        board = self._model.board
        part = lifted(board, reference) if board is not None else None
        if part is None or WORK[part.kind] not in self._model.pack.work:
            return False
        net = next(pin.net for pin in part.pins if pin.net != GROUND)
        return by_net[net] - by_part[reference] >= _WORTH_LIFTING
