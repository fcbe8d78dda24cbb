"""Where to touch a net on the board itself, away from the connectors."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from nextprobe.board import Board, FaultKind, MeterMode, Part, PartKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.measuring import Measurement, across, conducts

# A pad of these is found and touched most easily, in this order (common practice, no published
# source). The balls of a chip are out of reach, and connectors have runs of their own.
_EASY = (
    PartKind.TEST_POINT,
    PartKind.CAPACITOR,
    PartKind.INDUCTOR,
    PartKind.FERRITE,
    PartKind.RESISTOR,
)
_OUT_OF_REACH = (PartKind.CHIP, PartKind.CONNECTOR)

_INTERRUPTED = frozenset({FaultKind.OPEN, FaultKind.HIGH_RESISTANCE})


def pad_of(board: Board, net: str) -> str | None:
    """Return the pad at which a net is touched most easily; None where there is none to touch."""
    found = [
        (_EASY.index(part.kind) if part.kind in _EASY else len(_EASY), part.reference, pin.number)
        for part, pin in board.parts_on(net)
        if _within_reach(part)
    ]
    if not found:
        return None
    _, reference, number = min(found)
    return f"{reference}.{number}"


def _within_reach(part: Part) -> bool:
    return part.kind not in _OUT_OF_REACH and not part.implied


def touched(board: Board, nets: Iterable[str]) -> tuple[Measurement, ...]:
    """Return a measurement in diode mode for each net that can be touched on the board.

    Parameters
    ----------
    board : Board
    nets : iterable of str
        A net for each fault that would show there: where there are most, is touched first.
    """
    often = Counter(nets)
    pads = [pad_of(board, net) for net in sorted(often, key=lambda net: (-often[net], net))]
    return tuple(Measurement(pad) for pad in pads if pad is not None)


def across_each(
    board: Board, suspected: Iterable[Candidate], mode: MeterMode
) -> tuple[Measurement, ...]:
    """Return a measurement across each part that may be open and that a meter mode suits.

    What conducts is measured in low ohms, larger resistors in ohms.
    """
    parts = {
        item.fault.place: board.by_reference[item.fault.place]
        for item in suspected
        if item.located and item.fault.kind in _INTERRUPTED
    }
    return tuple(across(part, mode) for part in parts.values() if _mode_for(part) is mode)


def _mode_for(part: Part) -> MeterMode | None:
    if len(part.pins) != 2:
        return None
    if conducts(part):
        return MeterMode.LOW_OHMS
    return MeterMode.OHMS if part.kind is PartKind.RESISTOR else None
