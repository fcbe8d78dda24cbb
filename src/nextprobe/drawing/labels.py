"""Designators, where there is room for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from nextprobe.board import PartKind
from nextprobe.drawing.bodies import Body
from nextprobe.drawing.frame import Frame, usable_pad
from nextprobe.drawing.svg import element, number, text_of

LETTER_WIDTH = 0.62
"""Of a letter against its height [1]."""
LARGEST_TEXT, BESIDE_TEXT, SMALLEST_TEXT = 2.6, 1.1, 0.45
_GAP = 0.12
_CELL = 2.0

Bounds = tuple[float, float, float, float]
"""Left, top, right and bottom on the sheet [mm]."""


@dataclass
class Occupied:
    """What is taken already on one side of the sheet, found by place."""

    cells: dict[tuple[int, int], list[Bounds]] = field(default_factory=dict)

    def add(self, bounds: Bounds) -> None:
        """Take a place."""
        for cell in _cells(bounds):
            self.cells.setdefault(cell, []).append(bounds)

    def free(self, bounds: Bounds) -> bool:
        """Whether nothing lies there."""
        return not any(
            _overlap(bounds, other) for cell in _cells(bounds) for other in self.cells.get(cell, ())
        )


def labels_on(bodies: Sequence[Body], frame: Frame) -> Iterator[str]:
    """Yield the designators of the bodies on a side: inside, else beside, else not at all."""
    taken = Occupied()
    for body in bodies:
        taken.add(body.bounds)
    for body in bodies:
        pads = list(_pads(body, frame))
        yield _inside(body, pads) or _beside(body, taken)


def _pads(body: Body, frame: Frame) -> Iterator[Bounds]:
    for pin in body.part.pins:
        for pad in filter(usable_pad, pin.pads):
            x, y = frame.place(pad.position)
            half = 500.0 * min(pad.size)
            yield x - half, y - half, x + half, y + half


def _inside(body: Body, pads: Iterable[Bounds]) -> str:
    """Return the designator on a body, unless it would hide the sign of a pad."""
    left, top, right, bottom = body.bounds
    width, height = right - left - _GAP, bottom - top - _GAP
    upright = height > width
    along, across = (height, width) if upright else (width, height)
    length = LETTER_WIDTH * len(body.part.reference)
    size = min(along / length, 0.8 * across, LARGEST_TEXT)
    x, y = body.centre
    halves = (size / 2, size * length / 2) if upright else (size * length / 2, size / 2)
    covered = (x - halves[0], y - halves[1], x + halves[0], y + halves[1])
    small = [pad for pad in pads if pad[3] - pad[1] < 2 * size]
    if size < SMALLEST_TEXT or any(_holds_middle(covered, pad) for pad in small):
        return ""
    return _text(body, x, y, size, upright=upright)


def _beside(body: Body, taken: Occupied) -> str:
    if body.part.kind is PartKind.TEST_POINT:
        return ""
    left, top, right, bottom = body.bounds
    width = LETTER_WIDTH * BESIDE_TEXT * len(body.part.reference) + 2 * _GAP
    x, y = body.centre
    half, tall = width / 2, BESIDE_TEXT / 2 + _GAP
    places = (x, top - tall), (x, bottom + tall), (right + half, y), (left - half, y)
    for across, down in places:
        bounds = (across - half, down - tall, across + half, down + tall)
        if taken.free(bounds):
            taken.add(bounds)
            return _text(body, across, down, BESIDE_TEXT, upright=False)
    return ""


def _text(body: Body, x: float, y: float, size: float, *, upright: bool) -> str:
    turned = f"rotate(-90 {number(x)} {number(y)})" if upright else ""
    return element(
        "text", text_of(body.part.reference), class_="name", x=x, y=y, font_size=size,
        stroke_width=0.14 * size, transform=turned,
    )  # fmt: skip


def _cells(bounds: Bounds) -> Iterator[tuple[int, int]]:
    left, top, right, bottom = (int(each // _CELL) for each in bounds)
    return ((x, y) for x in range(left, right + 1) for y in range(top, bottom + 1))


def _overlap(first: Bounds, second: Bounds) -> bool:
    across = first[0] < second[2] and second[0] < first[2]
    return across and first[1] < second[3] and second[1] < first[3]


def _holds_middle(bounds: Bounds, pad: Bounds) -> bool:
    x, y = (pad[0] + pad[2]) / 2, (pad[1] + pad[3]) / 2
    return bounds[0] < x < bounds[2] and bounds[1] < y < bounds[3]
