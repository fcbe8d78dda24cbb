"""Where things are on a board.

The plane is that of the board seen from its front: x to the right, y downwards [m]. Angles are
in degrees [°] and turn counter-clockwise as seen from the front, as EDA tools write them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import cos, radians, sin

Point = tuple[float, float]
"""x and y [m]."""

Path = tuple[Point, ...]
"""Points joined by straight lines; closed where the last is the first."""


class Side(StrEnum):
    """From where something can be touched."""

    FRONT = "front"
    BACK = "back"
    BOTH = "both"


@dataclass(frozen=True)
class Pad:
    """One piece of copper that a pin is soldered to.

    Parameters
    ----------
    position : (float, float)
        Centre [m].
    size : (float, float)
        Width and height before it is turned [m].
    side : Side
        `Side.BOTH` for a plated hole.
    rotation : float
        Of the pad on the board [°].
    is_round : bool
        Whether it is an ellipse or has round ends, rather than corners.
    """

    position: Point
    size: Point
    side: Side = Side.FRONT
    rotation: float = 0.0
    is_round: bool = False


def turned(point: Point, degrees: float) -> Point:
    """Return `point` turned counter-clockwise about the origin, with y downwards."""
    angle = radians(degrees)
    x, y = point
    return x * cos(angle) + y * sin(angle), y * cos(angle) - x * sin(angle)


def moved(point: Point, by: Point) -> Point:
    """Return `point` shifted by `by`."""
    return point[0] + by[0], point[1] + by[1]
