"""What lies on the far side of the parts on a net."""

from __future__ import annotations

from collections.abc import Iterator

from nextprobe.board.board import Board, Part
from nextprobe.board.kinds import PartKind

PULL_UP_OHMS = (500.0, 200e3)
"""Resistors of this size hold a line at its resting level [ohm]; common practice."""

ENDS = (PartKind.CHIP, PartKind.CONNECTOR)
"""Parts that signals come from and go to."""


def across(board: Board, net: str) -> Iterator[tuple[Part, str]]:
    """Yield each part of two pins on a net, with the net on its far side."""
    for part, pin in board.parts_on(net):
        if len(part.pins) == 2:
            far = next((other.net for other in part.pins if other is not pin), net)
            if far != net:
                yield part, far


def pull_ups(board: Board, net: str) -> Iterator[str]:
    """Yield the far net of each resistor of the size of a pull-up."""
    low, high = PULL_UP_OHMS
    for part, far in across(board, net):
        if part.kind is PartKind.RESISTOR and part.value is not None and low <= part.value <= high:
            yield far


def ends_on(board: Board, net: str) -> tuple[str, ...]:
    """Return the chips and connectors on a net, sorted."""
    return tuple(sorted({part.reference for part, _ in board.parts_on(net) if part.kind in ENDS}))
