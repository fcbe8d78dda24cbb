"""A board as a page draws it: columns of pads, and how much suspicion lies on each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from threading import Lock
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import GROUND, Board, Fault, FaultKind, Pad, PartKind, natural_order
from nextprobe.board.standing import standing_pads
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.packs import Pack

IntArray = NDArray[np.intp]
FloatArray = NDArray[np.float32]

_NOWHERE = frozenset(
    {
        FaultKind.UNLISTED,
        FaultKind.SETTINGS,
        FaultKind.EXTERNAL,
        FaultKind.FIRMWARE_CORRUPT,
        FaultKind.RECOGNITION_STALE,
    }
)
"""Faults that sit nowhere on a board, though they may share a name with something on it."""


@dataclass(frozen=True, eq=False)
class Layout:
    """The pads of a board in a fixed order: parts as the board has them, their pins, their pads.

    A pin of which nobody has said where it is has one pad: where such a part usually has it, if
    the place of the part is known, and else without a place.

    Parameters
    ----------
    board : Board
    """

    board: Board

    @cached_property
    def pads(self) -> tuple[tuple[int, str, str, Pad | None], ...]:
        """Number of the part, name of the pin, net and copper of each pad."""
        return tuple(
            (number, f"{part.reference}.{pin.number}", pin.net, pad)
            for number, part in enumerate(self.board.parts)
            for pin in part.pins
            for pad in (pin.pads or (self.drawn.get(f"{part.reference}.{pin.number}"),))
        )

    @cached_property
    def drawn(self) -> dict[str, Pad]:
        """Pads that nobody has described: laid out by kind where the part stands."""
        return standing_pads(self.board)

    @cached_property
    def key(self) -> int:
        """Number that is the same for the same order of pads, 0 to 4294967295."""
        return crc32("\n".join(pin for _, pin, _, _ in self.pads).encode())

    @cached_property
    def _by_pin(self) -> dict[str, list[int]]:
        return _grouped((pin, index) for index, (_, pin, _, _) in enumerate(self.pads))

    @cached_property
    def _by_part(self) -> dict[str, list[int]]:
        parts = self.board.parts
        return _grouped(
            (parts[number].reference, index) for index, (number, _, _, _) in enumerate(self.pads)
        )

    @cached_property
    def _by_net(self) -> dict[str, list[int]]:
        return _grouped((net, index) for index, (_, _, net, _) in enumerate(self.pads))

    def at(self, place: str) -> list[int]:
        """Return the pads of a pin, a part or a net; none if there is no such thing."""
        for known in (self._by_pin, self._by_part, self._by_net):
            if place in known:
                return known[place]
        return []

    def of_fault(self, fault: Fault, pack: Pack) -> list[int]:
        """Return the pads at which a fault sits; none if it sits nowhere on the board."""
        if fault.kind is FaultKind.BRIDGE:
            return [index for end in fault.place.split("~") for index in self.at(end)]
        if fault.kind is FaultKind.BROKEN_NET:
            return self.at(fault.place.rpartition("/")[2])
        if fault.kind in _NOWHERE:
            return []
        place = fault.place.partition("/")[0]
        module = pack.modules.get(place)
        if module is not None:
            return self.at(module.connector or "")
        return [*self.at(place), *self._in_front_of(place)]

    def _in_front_of(self, place: str) -> list[int]:
        """Return the pads that are joined to a stand-in: nobody knows where it sits itself."""
        reference, _, number = place.partition(".")
        part = self.board.by_reference.get(reference)
        if part is None or not part.implied:
            return []
        nets = {pin.net for pin in part.pins if number in ("", pin.number)} - {GROUND}
        return [index for net in nets for index in self._by_net[net]]

    def suspicion(self, case: Case) -> FloatArray:
        """Return how likely it is that a fault sits at each pad, shape (N,).

        Chances of suspects that share a pad add up, to one at most.
        """
        model = case.model
        chances = family_chances(model, case.situation, only_active=True)
        found = np.zeros(len(self.pads))
        for place, chance in zip(model.first_of_family, chances, strict=True):
            pads = self.of_fault(model.listed[int(place)].fault, model.pack)
            found[list(dict.fromkeys(pads))] += chance
        return np.minimum(found, 1.0).astype(np.float32)

    def connectors(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return connectors with their pins in order."""
        parts = [part for part in self.board.parts if part.kind is PartKind.CONNECTOR]
        return tuple(
            (part.reference, tuple(sorted((pin.number for pin in part.pins), key=natural_order)))
            for part in sorted(parts, key=lambda part: natural_order(part.reference))
        )


_KEPT = 24
_kept: dict[int, Layout] = {}
_keeping = Lock()


def layout_of(board: Board) -> Layout:
    """Return the layout of a board, kept for as long as the board is asked for."""
    with _keeping:
        found = _kept.pop(id(board), None)
        if found is None or found.board is not board:
            found = Layout(board)
        _kept[id(board)] = found
        if len(_kept) > _KEPT:
            del _kept[next(iter(_kept))]
    return found


def _grouped(pairs: Iterable[tuple[str, int]]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for name, index in pairs:
        found.setdefault(name, []).append(index)
    return found


def columns(layout: Layout) -> dict[str, object]:
    """Return the pads as columns, places in metres."""
    nets = {name: index for index, name in enumerate(layout.board.nets)}
    pads = layout.pads
    return {
        "pin": [pin for _, pin, _, _ in pads],
        "part": [part for part, _, _, _ in pads],
        "net": [nets[net] for _, _, net, _ in pads],
        "x": _numbers(None if pad is None else pad.position[0] for *_, pad in pads),
        "y": _numbers(None if pad is None else pad.position[1] for *_, pad in pads),
        "width": _numbers(None if pad is None else pad.size[0] for *_, pad in pads),
        "height": _numbers(None if pad is None else pad.size[1] for *_, pad in pads),
        "rotation": _numbers(None if pad is None else pad.rotation for *_, pad in pads),
        "side": [None if pad is None else pad.side.value for *_, pad in pads],
        "is_round": [pad is not None and pad.is_round for *_, pad in pads],
    }


def _numbers(values: Iterable[float | None]) -> list[float | None]:
    return list(_rounded(values))


def _rounded(values: Iterable[float | None]) -> Iterator[float | None]:
    """Yield places to a tenth of a micrometre: fewer digits travel faster."""
    for value in values:
        yield None if value is None or not isfinite(value) else round(value, 7)
