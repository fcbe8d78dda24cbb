"""From metres on a board to millimetres on the sheet, one frame for each side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot, isfinite

from nextprobe.board import Board, Pad, Part, Point, Side

FARTHEST = 2.0
"""What lies farther from the origin than this is a slip, and left out [m]."""


@dataclass(frozen=True)
class Box:
    """A rectangle [m]."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right [m]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom [m]."""
        return self.bottom - self.top


@dataclass(frozen=True)
class Frame:
    """Where one side of a board stands on the sheet.

    Parameters
    ----------
    side : Side
        `Side.FRONT` or `Side.BACK`; the back is seen as if the board had been turned over.
    box : Box
        What is shown of the board.
    left, top : float
        Corner on the sheet [mm].
    """

    side: Side
    box: Box
    left: float
    top: float

    @property
    def mirrored(self) -> bool:
        """Whether left and right are exchanged."""
        return self.side is Side.BACK

    def place(self, point: Point) -> Point:
        """Return where a point of the board stands on the sheet [mm]."""
        x = self.box.right - point[0] if self.mirrored else point[0] - self.box.left
        return self.left + 1e3 * x, self.top + 1e3 * (point[1] - self.box.top)

    def turn(self, degrees: float) -> float:
        """Return the angle of SVG, which turns clockwise, for one on the board [°]."""
        return degrees if self.mirrored else -degrees

    def shows(self, side: Side | None) -> bool:
        """Whether something on `side` can be seen from here."""
        return side in (self.side, Side.BOTH)


def usable(*points: Point) -> bool:
    """Whether all points are on a board that somebody could hold."""
    return all(isfinite(x) and isfinite(y) and hypot(x, y) <= FARTHEST for x, y in points)


def usable_pad(pad: Pad) -> bool:
    """Whether a pad has a place and a size that can be drawn."""
    sized = all(isfinite(each) and 0.0 < each <= FARTHEST for each in pad.size)
    return sized and isfinite(pad.rotation) and usable(pad.position)


def box_of(board: Board, margin: float) -> Box | None:
    """Return what holds the whole board; None if it has no places.

    Parameters
    ----------
    board : Board
    margin : float
        Around pads where no edge of the board is known [m].
    """
    edges = [point for path in board.outline for point in path if usable(point)]
    parts = [point for part in board.parts for point in _reach(part)]
    points = edges + parts
    if not points:
        return None
    around = 0.0 if edges else margin
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs) - around, min(ys) - around, max(xs) + around, max(ys) + around)


def _reach(part: Part) -> Iterator[Point]:
    yield from (part.outline if usable(*part.outline) else ())
    for pin in part.pins:
        for pad in filter(usable_pad, pin.pads):
            half = max(pad.size) / 2
            x, y = pad.position
            yield from ((x - half, y - half), (x + half, y + half))
