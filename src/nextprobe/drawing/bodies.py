"""Bodies of parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nextprobe.board import Part, Point, Side
from nextprobe.drawing.frame import Frame, usable, usable_pad
from nextprobe.drawing.svg import element, path_of, text_of


@dataclass(frozen=True)
class Body:
    """A part's body on the sheet [mm].

    Parameters
    ----------
    part : Part
    corners : tuple of (float, float)
    """

    part: Part
    corners: tuple[Point, ...]

    @property
    def centre(self) -> Point:
        """Middle of the box around it."""
        left, top, right, bottom = self.bounds
        return (left + right) / 2, (top + bottom) / 2

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the box around it."""
        xs, ys = [x for x, _ in self.corners], [y for _, y in self.corners]
        return min(xs), min(ys), max(xs), max(ys)


def bodies_on(parts: Iterable[Part], frame: Frame) -> Iterator[Body]:
    """Yield the bodies of the parts that are mounted on a side, the largest first."""
    found = [body for part in parts if side_of(part) is frame.side for body in _body(part, frame)]
    yield from sorted(found, key=_area, reverse=True)


def side_of(part: Part) -> Side:
    """Return where a part is mounted: as it says, else where its pads are."""
    if part.side is not None and part.side is not Side.BOTH:
        return part.side
    sides = {pin.side for pin in part.pins if pin.side is not None}
    return Side.BACK if sides == {Side.BACK} else Side.FRONT


def _area(body: Body) -> float:
    left, top, right, bottom = body.bounds
    return (right - left) * (bottom - top)


def _body(part: Part, frame: Frame) -> Iterator[Body]:
    corners = part.outline if part.outline and usable(*part.outline) else _around_pads(part)
    if len(corners) > 2:
        yield Body(part, tuple(map(frame.place, corners)))


def _around_pads(part: Part) -> tuple[Point, ...]:
    pads = [pad for pin in part.pins for pad in pin.pads if usable_pad(pad)]
    if not pads:
        return ()
    reach = [(pad, min(pad.size) / 2) for pad in pads]
    left = min(pad.position[0] - half for pad, half in reach)
    right = max(pad.position[0] + half for pad, half in reach)
    top = min(pad.position[1] - half for pad, half in reach)
    bottom = max(pad.position[1] + half for pad, half in reach)
    return (left, top), (right, top), (right, bottom), (left, bottom)


def body_shape(body: Body, words: str = "") -> str:
    """Return the shape of a body, dashed where the part is not fitted."""
    name = "body" if body.part.fitted else "body absent"
    title = element("title", text_of(words or body.part.reference))
    return element("path", title, class_=name, d=path_of(body.corners, closed=True))
