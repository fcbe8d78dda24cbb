"""Pads: copper in its true shape, in the colour of its net's role and with the role's sign."""

from __future__ import annotations

from collections.abc import Iterator

from nextprobe.board import Board, Pad, Part, Pin
from nextprobe.drawing.frame import Frame, usable_pad
from nextprobe.drawing.marks import mark_of
from nextprobe.drawing.svg import element, number, text_of

SIGN = 0.42
"""Half the size of a sign against the short side of its pad [1]."""
LEAST_SIGN = 0.06
"""A sign smaller than this could not be seen however close one looks [mm]."""


def pads_on(board: Board, frame: Frame, *, bright: frozenset[str] | None) -> Iterator[str]:
    """Yield the pads that can be touched from a side.

    Parameters
    ----------
    board : Board
    frame : Frame
    bright : frozenset of str or None
        Pins, as in ``J4.12``, that stand out from all others; None where none does.
    """
    for part in board.parts:
        for pin in part.pins:
            shown = bright is None or f"{part.reference}.{pin.number}" in bright
            for pad in pin.pads:
                if frame.shows(pad.side) and usable_pad(pad):
                    yield _pad(board, part, pin, pad, frame, faint=not shown)


def _pad(board: Board, part: Part, pin: Pin, pad: Pad, frame: Frame, *, faint: bool) -> str:
    role = board.role(pin.net)
    mark = mark_of(role)
    x, y = frame.place(pad.position)
    width, height = 1e3 * pad.size[0], 1e3 * pad.size[1]
    called = f" ({pin.function})" if pin.function and pin.function != pin.number else ""
    said = f"{part.reference}.{pin.number}{called}: {pin.net}, {role.value}"
    copper = element(
        "rect", element("title", text_of(said)), class_="copper", x=-width / 2, y=-height / 2,
        width=width, height=height, rx=min(width, height) * (0.5 if pad.is_round else 0.12),
        transform=_turned(frame.turn(pad.rotation)),
    )  # fmt: skip
    half = SIGN * min(width, height)
    sign = ""
    if half >= LEAST_SIGN:
        sign = element("use", href=f"#sign-{mark.name}", transform=f"scale({number(half)})")
    name = f"pad {mark.name}{' faint' if faint else ''}{'' if part.fitted else ' absent'}"
    return element("g", copper + sign, class_=name, transform=f"translate({number(x)} {number(y)})")


def _turned(degrees: float) -> str:
    return f"rotate({number(degrees)})" if degrees % 360 else ""
