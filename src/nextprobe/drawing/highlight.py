"""What stands out on a map: a net, a part or a pin."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import hypot

from nextprobe.board import Board, Point
from nextprobe.drawing.frame import Frame, usable_pad
from nextprobe.drawing.labels import LETTER_WIDTH
from nextprobe.drawing.svg import element, path_of, text_of
from nextprobe.errors import MisuseError

MOST_TAGS = 40
"""With more pins than these, names would hide the board."""
_TEXT = 1.5


@dataclass(frozen=True)
class Highlight:
    """Pins that stand out.

    Parameters
    ----------
    title : str
        What they are, in words.
    pins : frozenset of str
        As in ``J4.12``.
    is_net : bool
        Whether they are joined, so that a thread may lead from one to the next.
    """

    title: str
    pins: frozenset[str]
    is_net: bool


def highlight_of(board: Board, word: str) -> Highlight:
    """Return what a net, a part or a pin stands out with.

    Raises
    ------
    MisuseError
        If the board has nothing of that name.
    """
    part = board.by_reference.get(word)
    if part is not None:
        pins = frozenset(f"{part.reference}.{pin.number}" for pin in part.pins)
        return Highlight(f"part {word}, {part.kind.value}", pins, is_net=False)
    net = board.net_of(word)
    if net not in board.nets:
        raise MisuseError(f"{board.name} has no pin on {net}")
    title = f"net {net}, {board.role(net).value}"
    return Highlight(title, frozenset(board.nets[net].pins), is_net=True)


def highlight_shapes(board: Board, frame: Frame, wanted: Highlight) -> Iterator[str]:
    """Yield rings around the pads that stand out, a thread along a net, and the names of pins."""
    spots = list(_spots(board, frame, wanted))
    if wanted.is_net and len(spots) > 1:
        order = thread([(x, y) for _, x, y, _ in spots])
        yield element("path", class_="thread", d=path_of(order, closed=False))
    for _, x, y, radius in spots:
        yield element("circle", class_="ring", cx=x, cy=y, r=radius)
    if len(spots) <= MOST_TAGS:
        for name, x, y, radius in spots:
            yield _tag(name, x, y - radius - 0.75 * _TEXT)


def _spots(
    board: Board, frame: Frame, wanted: Highlight
) -> Iterator[tuple[str, float, float, float]]:
    for part in board.parts:
        for pin in part.pins:
            name = f"{part.reference}.{pin.number}"
            for pad in pin.pads[:1] if name in wanted.pins else ():
                if frame.shows(pad.side) and usable_pad(pad):
                    yield (name, *frame.place(pad.position), 500.0 * max(pad.size) + 0.35)


def _tag(name: str, x: float, y: float) -> str:
    width = LETTER_WIDTH * _TEXT * len(name) + 0.8
    box = element(
        "rect", class_="tag", x=x - width / 2, y=y - 0.65 * _TEXT, width=width,
        height=1.3 * _TEXT, rx=0.4,
    )  # fmt: skip
    return box + element("text", text_of(name), class_="tag-text", x=x, y=y, font_size=_TEXT)


def thread(points: Iterable[Point]) -> list[Point]:
    """Return points in an order in which each is near the one before.

    Only a guide for the eye: how copper runs is not known here.
    """
    left = list(points)
    order = [left.pop(0)]
    while left:
        x, y = order[-1]
        nearest = min(range(len(left)), key=lambda i: hypot(left[i][0] - x, left[i][1] - y))
        order.append(left.pop(nearest))
    return order
