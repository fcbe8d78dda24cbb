"""Pads of parts of which only the place is known: laid out as parts of their kind usually are.

Where a part stands comes from whoever described the board; where exactly its pads lie does not.
Packages are those of common practice, no published source, and shrink where neighbours are near.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from nextprobe.board.board import Board, Part
from nextprobe.board.geometry import Pad, Side
from nextprobe.board.kinds import PartKind
from nextprobe.board.naming import natural_order

Place = tuple[float, float]

_PITCH = 0.5e-3
# Of the way between two parts, so much may be taken up by both.
_FILLED = 0.95
_BALL = re.compile(r"([A-Z]{1,2})(\d+)")


def standing_pads(board: Board) -> dict[str, Pad]:
    """Return a pad for each pin whose part has a place while none of its pins has pads.

    Returns
    -------
    mapping of str to Pad
        By name of the pin, as in ``U3.7``; empty where nobody has said where parts stand.
    """
    parts = [part for part in board.parts if part.position is not None and part.pins]
    if all(any(pin.pads for pin in part.pins) for part in parts):
        return {}
    scales = _scales(parts)
    return {
        name: pad
        for part, scale in zip(parts, scales, strict=True)
        if not any(pin.pads for pin in part.pins)
        for name, pad in _pads(part, scale)
    }


def with_standing_pads(board: Board) -> Board:
    """Return the board with a pad for each pin that `standing_pads` lays one out for."""
    drawn = standing_pads(board)
    if not drawn:
        return board
    return replace(board, parts=tuple(_with_pads(part, drawn) for part in board.parts))


def _with_pads(part: Part, drawn: Mapping[str, Pad]) -> Part:
    pads = [drawn.get(f"{part.reference}.{pin.number}") for pin in part.pins]
    if not any(pads):
        return part
    pairs = zip(part.pins, pads, strict=True)
    return replace(
        part, pins=tuple(replace(pin, pads=(pad,)) if pad else pin for pin, pad in pairs)
    )


def _scales(parts: list[Part]) -> list[float]:
    """Return how much each part is shrunk so that none reaches into another."""
    at = np.array([part.position for part in parts])
    reach = np.array([_reach(part) for part in parts])
    apart = np.abs(at[:, None] - at[None]).max(axis=-1)
    np.fill_diagonal(apart, np.inf)
    room = (_FILLED * apart / (reach[:, None] + reach[None])).min(axis=1)
    return [float(scale) for scale in np.minimum(room, 1.0)]


def _reach(part: Part) -> float:
    """Return how far a part reaches from its centre before it is shrunk [m]."""
    return max(max(abs(x), abs(y)) for x, y in _places(part)) + _size(part) / 2.0


def _pads(part: Part, scale: float) -> Iterator[tuple[str, Pad]]:
    assert part.position is not None
    left, top = part.position
    side, size = part.side or Side.FRONT, _size(part) * scale
    for pin, (x, y) in zip(_in_order(part), _places(part), strict=True):
        at = left + x * scale, top + y * scale
        yield f"{part.reference}.{pin}", Pad(at, (size, size), side, is_round=len(part.pins) == 1)


def _in_order(part: Part) -> list[str]:
    return sorted((pin.number for pin in part.pins), key=natural_order)


def _size(part: Part) -> float:
    return 0.5e-3 if len(part.pins) <= 2 else 0.3e-3


def _places(part: Part) -> list[Place]:
    """Return the places of the pins about the centre, in their order [m]."""
    names = _in_order(part)
    if len(names) == 1:
        return [(0.0, 0.0)]
    if len(names) == 2:
        return [(-0.8 * _PITCH, 0.0), (0.8 * _PITCH, 0.0)]
    if part.kind is PartKind.CONNECTOR:
        return _two_rows(len(names))
    balls = [_BALL.fullmatch(name) for name in names]
    if all(balls):
        return _grid([(ball[1], int(ball[2])) for ball in balls if ball is not None])
    return _round_about(len(names))


def _two_rows(count: int) -> list[Place]:
    """Return odd pins in one row and even ones in the other."""
    columns = (count + 1) // 2
    return [
        ((index // 2 - (columns - 1) / 2.0) * _PITCH, (-1.0 if index % 2 == 0 else 1.0) * _PITCH)
        for index in range(count)
    ]


def _grid(balls: list[tuple[str, int]]) -> list[Place]:
    """Return the places of balls that are called by row and column, as in ``C7``."""
    rows = {name: index for index, name in enumerate(sorted({row for row, _ in balls}, key=_row))}
    columns = {number: index for index, number in enumerate(sorted({n for _, n in balls}))}
    down, across = (len(rows) - 1) / 2.0, (len(columns) - 1) / 2.0
    return [
        ((columns[number] - across) * _PITCH, (rows[row] - down) * _PITCH) for row, number in balls
    ]


def _row(name: str) -> tuple[int, str]:
    return len(name), name


def _round_about(count: int) -> list[Place]:
    """Return places on the four sides of a square, counter-clockwise from the top left."""
    side = -(-count // 4)
    reach = (side + 1) / 2.0 * _PITCH
    along = [(index - (side - 1) / 2.0) * _PITCH for index in range(side)]
    left = [(-reach, step) for step in along]
    bottom = [(step, reach) for step in along]
    right = [(reach, -step) for step in along]
    top = [(-step, -reach) for step in along]
    return [*left, *bottom, *right, *top][:count]
