"""Places of a KiCad board in metres: pads, outlines of parts, edges of the board.

KiCad writes millimetres with y downwards and angles counter-clockwise. What belongs to a
footprint is written before the footprint is turned, except that the angle of a pad includes that
of its footprint.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import atan2, ceil, cos, hypot, pi, sin, tau

from nextprobe.board import Pad, Path, Point, Side
from nextprobe.board.geometry import moved, turned
from nextprobe.readers.kicad.forms import Form

MILLI = 1e-3
_ARC_STEP = pi / 18
_LINES, _FAR = ("line", "rect", "circle", "arc", "poly", "curve"), 1e4


@dataclass(frozen=True)
class Place:
    """Where a footprint is [m, °]."""

    position: Point = (0.0, 0.0)
    rotation: float = 0.0

    def on_board(self, point: Point) -> Point:
        """Return where a point of the footprint is on the board."""
        return moved(turned(point, self.rotation), self.position)


def place_of(form: Form) -> Place:
    """Return where a form is, from its ``(at x y angle)``."""
    at = form.first("at")
    return Place() if at is None else Place(_point(at), at.number(2))


def pad_of(form: Form, place: Place) -> Pad | None:
    """Return the copper of a ``(pad …)``; None if it has none on an outer layer."""
    side = _side(form)
    if side is None:
        return None
    own, size = place_of(form), form.first("size")
    extent = (0.0, 0.0) if size is None else (abs(_point(size)[0]), abs(_point(size)[1]))
    is_round = form.atom(2) in ("circle", "oval")
    return Pad(place.on_board(own.position), extent, side, own.rotation, is_round)


def _side(form: Form) -> Side | None:
    layers = form.first("layers") or form.first("layer")
    names = set() if layers is None else set(layers.atoms)
    front = bool(names & {"F.Cu", "*.Cu", "F&B.Cu"})
    back = bool(names & {"B.Cu", "*.Cu", "F&B.Cu"})
    if front and back:
        return Side.BOTH
    return Side.FRONT if front else Side.BACK if back else None


def outline_of(form: Form, place: Place, pads: Iterable[Pad]) -> Path:
    """Return the corners of a footprint: of its courtyard, its body, or of its pads."""
    for layers in (("F.CrtYd", "B.CrtYd"), ("F.Fab", "B.Fab")):
        drawn = [
            point
            for item in form.all(*(f"fp_{shape}" for shape in _LINES))
            if item.text("layer") in layers
            for point in shape_of(item)
        ]
        if drawn:
            return tuple(place.on_board(corner) for corner in _box(drawn))
    return _box([corner for pad in pads for corner in _corners(pad)])


def _corners(pad: Pad) -> Iterator[Point]:
    width, height = pad.size
    for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
        yield moved(turned((x * width / 2, y * height / 2), pad.rotation), pad.position)


def _box(points: list[Point]) -> Path:
    if not points:
        return ()
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    top, bottom = min(y for _, y in points), max(y for _, y in points)
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def edges_of(form: Form, prefix: str, place: Place) -> Iterator[Path]:
    """Yield the edges of the board that are drawn within a form."""
    for item in form.all(*(f"{prefix}_{shape}" for shape in _LINES)):
        path = edge_of(item, place)
        if path:
            yield path


def edge_of(item: Form, place: Place) -> Path:
    """Return the path of a shape on the layer of the board's edge; empty if it is elsewhere."""
    if item.text("layer") != "Edge.Cuts":
        return ()
    return tuple(place.on_board(point) for point in shape_of(item))


def shape_of(item: Form) -> Path:
    """Return the points of a line, rectangle, circle, arc, polygon or curve."""
    shape = item.name.partition("_")[2]
    points = item.first("pts")
    if points is not None:
        path = tuple(_point(xy) for xy in points.all("xy"))
        return (*path, *path[:1]) if shape == "poly" else path
    start, end = _named(item, "start"), _named(item, "end")
    if shape == "rect":
        (left, top), (right, bottom) = start, end
        return ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    if shape == "circle":
        centre = _named(item, "center")
        return _arc(centre, end, tau)
    if shape == "arc":
        return _three_points(item, start, end)
    return (start, end)


def _three_points(item: Form, start: Point, end: Point) -> Path:
    """Return an arc by start, middle and end, or, before version 6, by centre, start and angle."""
    if item.first("mid") is None:
        angle = item.first("angle")
        return _arc(start, end, 0.0 if angle is None else angle.number(0) * pi / 180)
    middle = _named(item, "mid")
    centre = _centre(start, middle, end)
    if centre is None:
        return (start, middle, end)
    first, second, last = (atan2(p[1] - centre[1], p[0] - centre[0]) for p in (start, middle, end))
    sweep = (last - first) % tau
    return _arc(centre, start, sweep if (second - first) % tau <= sweep else sweep - tau)


def _arc(centre: Point, start: Point, sweep: float) -> Path:
    """Return points on an arc about `centre`; `sweep` turns from x to y, clockwise as seen."""
    radius = hypot(start[0] - centre[0], start[1] - centre[1])
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    sweep = min(max(sweep, -tau), tau)
    count = max(1, ceil(abs(sweep) / _ARC_STEP))
    angles = (first + sweep * i / count for i in range(count + 1))
    return tuple((centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles)


def _centre(a: Point, b: Point, c: Point) -> Point | None:
    """Return the centre of the circle through three points; None if they are on a line."""
    (ax, ay), (bx, by), (cx, cy) = a, b, c
    twice = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if abs(twice) < 1e-15:
        return None
    aa, bb, cc = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    x = (aa * (by - cy) + bb * (cy - ay) + cc * (ay - by)) / twice
    y = (aa * (cx - bx) + bb * (ax - cx) + cc * (bx - ax)) / twice
    return x, y


def _named(item: Form, name: str) -> Point:
    form = item.first(name)
    return (0.0, 0.0) if form is None else _point(form)


def _point(form: Form) -> Point:
    """Return a point [m]; KiCad's own limit of some metres keeps nonsense finite."""
    x, y = (min(max(form.number(i), -_FAR), _FAR) * MILLI for i in (0, 1))
    return x, y
