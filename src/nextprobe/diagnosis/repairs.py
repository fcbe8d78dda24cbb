"""Which work cures which fault, and how surely."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import GROUND, Board, Fault, FaultKind, Part, PartKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.effects import site_of
from nextprobe.diagnosis.ids import slug
from nextprobe.packs.schema import Pack

# A restore puts settings back as they left the factory.
_RESTORED_SETTINGS = 0.95

_BESIDE = {
    FaultKind.SEATING: ("reseat", "clean", "connector replace"),
    FaultKind.DIRT: ("clean", "ultrasonic"),
    FaultKind.RESIDUE: ("ultrasonic",),
    FaultKind.SETTINGS: ("restart",),
    FaultKind.EXTERNAL: ("try external",),
}


def work_id(work: str, place: str) -> str:
    """Return the stable id of work at a place, as in ``work:small-passive:C87``."""
    return f"work:{slug(work)}:{slug(place)}"


@dataclass(frozen=True)
class Repair:
    """Work at a place.

    Parameters
    ----------
    work : str
        Name of the work in the pack.
    place : str
        Part, connector or function that it is done to.
    cures : tuple of (int, float)
        Index of each candidate that it cures, with the chance.
    """

    work: str
    place: str
    cures: tuple[tuple[int, float], ...]

    @cached_property
    def id(self) -> str:
        """Stable name, as in ``work:small-passive:C87``."""
        return work_id(self.work, self.place)


def repairs(pack: Pack, board: Board | None, listed: Sequence[Candidate]) -> tuple[Repair, ...]:
    """Return all work that may cure a candidate, each with everything that it cures."""
    cures: dict[tuple[str, str], list[tuple[int, float]]] = {}
    for index, item in enumerate(listed):
        for work, place, chance in cures_of(pack, board, item.fault):
            cures.setdefault((work, place), []).append((index, chance))
    return tuple(Repair(work, place, tuple(found)) for (work, place), found in cures.items())


def cures_of(pack: Pack, board: Board | None, fault: Fault) -> Iterator[tuple[str, str, float]]:
    """Yield work, place and chance of success for one fault."""
    place, _, item = fault.place.partition("/")
    for work in _BESIDE.get(fault.kind, ()):
        if work in pack.work:
            yield work, place, pack.work[work].success
    if fault.kind is FaultKind.EXTERNAL and item in pack.externals:
        work = pack.externals[item].work
        yield work, place, pack.work[work].success
    if board is None or fault.place.startswith("?"):
        return
    if fault.kind in (FaultKind.CHIP_DEAD, FaultKind.NO_OUTPUT):
        yield from _replaced(pack, board.part(fault.place))
    elif fault.kind.is_electrical:
        yield from _on_the_board(pack, board, fault)


def _on_the_board(pack: Pack, board: Board, fault: Fault) -> Iterator[tuple[str, str, float]]:
    if fault.kind is FaultKind.BROKEN_NET:
        yield "jumper", fault.place, pack.work["jumper"].success
        return
    part = site_of(board, fault).part
    if part is None:
        part = board.part(fault.place.partition(".")[0])
    if part.implied:
        return
    if part.kind is PartKind.CONNECTOR:
        yield "connector resolder", part.reference, pack.work["connector resolder"].success
    yield from _replaced(pack, part)
    if part.kind is PartKind.CAPACITOR and fault.kind in (FaultKind.SHORT, FaultKind.LEAKY):
        grounded = any(pin.net == GROUND for pin in part.pins)
        if grounded and "capacitor remove" in pack.work:
            yield "capacitor remove", part.reference, pack.work["capacitor remove"].success


def _replaced(pack: Pack, part: Part) -> Iterator[tuple[str, str, float]]:
    work = _replacement(part)
    yield work, part.reference, pack.work[work].success
    if part.kind is PartKind.PROTECTION:
        yield "protection remove", part.reference, pack.work["protection remove"].success


def _replacement(part: Part) -> str:
    if part.kind is PartKind.CONNECTOR:
        return "connector replace"
    if part.kind is PartKind.PROTECTION:
        return "protection replace"
    if part.kind is not PartKind.CHIP:
        return "small passive"
    if "processor" in part.note:
        return "large chip"
    return "power chip" if "power" in part.note else "controller"


def refresh_cures(pack: Pack, listed: Sequence[Candidate], name: str) -> NDArray[np.float64]:
    """Return the chance that a finished refresh cures each candidate, shape (H,)."""
    refresh = pack.refreshes[name]
    chances = {
        FaultKind.RECOGNITION_STALE: refresh.cures_recognition,
        FaultKind.FIRMWARE_CORRUPT: refresh.cures_corruption,
        FaultKind.SETTINGS: 0.0 if refresh.keeps_data else _RESTORED_SETTINGS,
    }
    return np.array([chances.get(item.fault.kind, 0.0) for item in listed])
