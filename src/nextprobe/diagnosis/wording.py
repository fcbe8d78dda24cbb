"""Faults and acts in the words of the trade."""

from __future__ import annotations

from nextprobe.board import Board, Fault, FaultKind, stand_in_reference
from nextprobe.packs.schema import Pack

_AT = {
    FaultKind.SEATING: "{place} not seated",
    FaultKind.DIRT: "dirt in {place}",
    FaultKind.RESIDUE: "liquid residue at {place}",
    FaultKind.MODULE_BAD: "{place} is bad",
    FaultKind.RECOGNITION_STALE: "firmware no longer recognises the {place}",
    FaultKind.FIRMWARE_CORRUPT: "firmware corrupt",
    FaultKind.SETTINGS: "settings of {place}",
    FaultKind.EXTERNAL: "cause outside the device",
    FaultKind.NO_OUTPUT: "{place} gives no output",
    FaultKind.CHIP_DEAD: "{place} dead",
    FaultKind.UNLISTED: "a fault that is not in the list",
    FaultKind.BRIDGE: "bridge between {place}",
    FaultKind.BROKEN_NET: "broken net {place}",
    FaultKind.JOINT_OPEN: "open joint {place}",
    FaultKind.CLAMP_SHORT: "{place} shorted inside the chip",
    FaultKind.CLAMP_OPEN: "clamp of {place} open",
    FaultKind.LEAK_TO_GROUND: "leak from {place} to ground",
    FaultKind.LEAK_TO_RAIL: "leak from {place} to its supply",
}
_UNLOCATED = {
    "passive short": "a shorted or leaky part, not located",
    "passive open": "an open part or joint, not located",
    "controller": "a chip of this function, not located",
    "power chip": "the power chip",
    "processor": "processor, storage or layer joints",
}


def say_fault(fault: Fault, pack: Pack, board: Board | None = None) -> str:
    """Return a fault in words, without its magnitude."""
    if fault.place.startswith("?"):
        return _UNLOCATED.get(fault.place[1:].partition("/")[0], fault.place)
    if fault.kind is FaultKind.EXTERNAL and "/" in fault.place:
        return f"{_AT[fault.kind]}: {fault.place.partition('/')[2]}"
    place = fault.place.replace("~", " and ").replace("/", " at ")
    place = place.replace(stand_in_reference(""), "the chip behind ")
    if fault.place in pack.modules:
        place = pack.modules[fault.place].title
    elif fault.place in pack.functions:
        place = pack.functions[fault.place].title
    words = _AT.get(fault.kind, f"{{place}} {fault.kind.value}").format(place=place)
    return words + _note(fault, board)


def _note(fault: Fault, board: Board | None) -> str:
    if board is None or fault.place not in board.by_reference:
        return ""
    part = board.part(fault.place)
    about = part.note or part.kind.value
    return f" ({about})"
