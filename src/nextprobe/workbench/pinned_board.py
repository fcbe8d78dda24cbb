"""A board and a pinout put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nextprobe.board import (
    Board,
    Part,
    PartKind,
    PinRow,
    PinTable,
    Role,
    sketch_from_pinout,
)


def merged_pinouts(tables: Sequence[PinTable]) -> PinTable:
    """Return all pins of some pinouts; where two speak of one pin, the later one counts."""
    rows: dict[str, PinRow] = {}
    for table in tables:
        rows.update(table.by_point)
    return PinTable(tuple(rows.values()))


def with_pinout(board: Board | None, table: PinTable, name: str) -> Board | None:
    """Return the board with the pins of a pinout.

    Pins that the board has already keep their nets and learn their roles; the others are
    sketched, and join nets of the board that have the same name.

    Parameters
    ----------
    board : Board or None
    table : PinTable
    name : str
        What a new board is called.
    """
    if not table.rows:
        return board
    if board is None:
        return sketch_from_pinout(table, name)
    sketch = sketch_from_pinout(table, board.name)
    known = {row.point for row in table.rows if board.has_point(row.point)}
    added = [_merged(board, part, known) for part in sketch.parts]
    grown = board.with_parts(part for part in added if part is not None)
    return grown.with_roles(_new_roles(grown, sketch, table))


def _merged(board: Board, part: Part, known: set[str]) -> Part | None:
    """Return a part of the sketch as it joins the board; None if it adds nothing."""
    if part.implied:
        return _stand_in(board, part)
    old = board.by_reference.get(part.reference)
    new = tuple(pin for pin in part.pins if f"{part.reference}.{pin.number}" not in known)
    if old is None:
        return part
    return replace(old, pins=(*old.pins, *new))


def _stand_in(board: Board, part: Part) -> Part | None:
    """Return the stand-in for nets that nothing on the board serves yet."""
    old = board.by_reference.get(part.reference)
    kept = old.pins if old is not None else ()
    numbers = {pin.number for pin in kept}
    new = tuple(pin for pin in part.pins if pin.net not in board.nets and pin.number not in numbers)
    if not new:
        return None
    return Part(part.reference, PartKind.CHIP, (*kept, *new), note=part.note, implied=True)


def _new_roles(board: Board, sketch: Board, table: PinTable) -> dict[str, Role]:
    roles: dict[str, Role] = {}
    for row in table.rows:
        role = sketch.role(sketch.net_of(row.point))
        net = board.net_of(row.point)
        if role is not Role.UNKNOWN and board.role(net) is Role.UNKNOWN:
            roles[net] = role
    return roles
