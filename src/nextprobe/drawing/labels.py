"""Designators, where there is room for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from nextprobe.board import PartKind
from nextprobe.drawing.bodies import Body
from nextprobe.drawing.frame import Frame, usable_pad
from nextprobe.drawing.pads import SIGN
from nextprobe.drawing.svg import element, number, text_of

LETTER_WIDTH = 0.62
"""Of a letter against its height [1]."""
LARGEST_TEXT, BESIDE_TEXT, SMALLEST_TEXT = 2.6, 1.1, 0.45
_GAP = 0.12
_ROWS = ((0.0, 0.8), (0.0, 0.3), (-0.25, 0.2), (0.25, 0.2), (-0.3, 0.15), (0.3, 0.15))
"""Where on a body a name may stand, from its middle, and how tall, as shares of its width."""
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
        signs = list(_signs(body, frame))
        yield _inside(body, signs) or _beside(body, taken)


def _signs(body: Body, frame: Frame) -> Iterator[Bounds]:
    for pin in body.part.pins:
        for pad in filter(usable_pad, pin.pads):
            x, y = frame.place(pad.position)
            half = 1e3 * SIGN * min(pad.size)
            yield x - half, y - half, x + half, y + half


def _inside(body: Body, signs: Sequence[Bounds]) -> str:
    """Return the designator on a body, where it does not hide the sign of a pad."""
    left, top, right, bottom = body.bounds
    width, height = right - left - _GAP, bottom - top - _GAP
    upright = height > 1.2 * width
    along, across = (height, width) if upright else (width, height)
    length = LETTER_WIDTH * len(body.part.reference)
    x, y = body.centre
    for shift, share in _ROWS:
        size = min(along / length, share * across, LARGEST_TEXT)
        middle = (x + shift * width, y) if upright else (x, y + shift * height)
        covered = _around(middle, size, size * length, upright=upright)
        if size >= SMALLEST_TEXT and not any(_overlap(covered, sign) for sign in signs):
            return _text(body, *middle, size, upright=upright)
    return ""


def _around(middle: tuple[float, float], tall: float, wide: float, *, upright: bool) -> Bounds:
    x, y = middle
    half_x, half_y = (tall / 2, wide / 2) if upright else (wide / 2, tall / 2)
    return x - half_x, y - half_y, x + half_x, y + half_y


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
