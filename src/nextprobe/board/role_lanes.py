"""Lanes that are coupled through series parts, recognised by their shape.

A fast serial lane passes capacitors or small resistors, and its two lines look alike: equal parts
between the same chips and connectors. Values are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nextprobe.board.board import Board, Part
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.net_names import RoleGuess
from nextprobe.board.role_paths import across, ends_on

COUPLING_FARADS = (1e-9, 470e-9)
"""A series capacitor of a lane; larger ones couple sound [F]."""
MOST_PINS = 3
"""A line of a lane has few pins: two ends, and perhaps a protection part or a test point."""

Shape = tuple[float | None, tuple[str, ...], tuple[str, ...]]


def coupled_nets(board: Board) -> Mapping[str, RoleGuess]:
    """Return nets that a capacitor couples in series, and what they are for that reason."""
    shapes: dict[Shape, list[tuple[Part, str, str]]] = {}
    for part, near, far in _series_capacitors(board):
        shapes.setdefault(_shape(board, part, near, far), []).append((part, near, far))
    found: dict[str, RoleGuess] = {}
    for alike in shapes.values():
        for part, near, far in alike:
            guess = _guess(board, part, near, far, [other.reference for other, _, _ in alike])
            found |= dict.fromkeys((near, far), guess)
    return found


def _series_capacitors(board: Board) -> Iterator[tuple[Part, str, str]]:
    for part in board.fitted:
        if part.kind is PartKind.CAPACITOR and len(part.pins) == 2:
            near, far = (pin.net for pin in part.pins)
            if near != far and all(_is_line(board, net, part) for net in (near, far)):
                yield part, near, far


def _is_line(board: Board, net: str, series: Part) -> bool:
    """Whether a net is one line between `series` and a chip or connector."""
    others = [part for part, _ in across(board, net) if part is not series]
    passive = {PartKind.CAPACITOR, PartKind.CRYSTAL, PartKind.INDUCTOR}
    few = 2 <= len(board.nets[net].pins) <= MOST_PINS
    return few and bool(ends_on(board, net)) and not any(p.kind in passive for p in others)


def _shape(board: Board, part: Part, near: str, far: str) -> Shape:
    first, second = sorted((ends_on(board, near), ends_on(board, far)))
    return part.value, first, second


def _guess(board: Board, part: Part, near: str, far: str, alike: list[str]) -> RoleGuess:
    if set(ends_on(board, near)) & set(ends_on(board, far)):
        reason = f"{part.reference} joins two pins of one chip"
        return RoleGuess(Role.ANALOGUE, reason, 0.6)
    low, high = COUPLING_FARADS
    if part.value is not None and not low <= part.value <= high:
        return RoleGuess(Role.ANALOGUE, f"series capacitor {part.reference} of that size", 0.5)
    if len(alike) > 1:
        return RoleGuess(Role.LANE, f"series capacitors {', '.join(alike[:4])} are alike", 0.8)
    return RoleGuess(Role.LANE, f"series capacitor {part.reference}", 0.6)
