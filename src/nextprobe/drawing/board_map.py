"""A map of both sides of a board."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from nextprobe.board import Board, Path, Side
from nextprobe.drawing.bodies import bodies_on, body_shape
from nextprobe.drawing.frame import Box, Frame, box_of, usable
from nextprobe.drawing.highlight import Highlight, highlight_of, highlight_shapes
from nextprobe.drawing.labels import labels_on
from nextprobe.drawing.legend import heading, legend, scale_bar, signs
from nextprobe.drawing.pads import pads_on
from nextprobe.drawing.style import style_sheet
from nextprobe.drawing.svg import element, number, path_of, text_of
from nextprobe.errors import MisuseError

MARGIN = 5.0
_NO_EDGE = 2e-3
_JOINED = 2e-5
_SAME_SHAPE = 1.1


def board_map(board: Board, highlight: str | None = None, title: str = "", remark: str = "") -> str:
    """Return an SVG of both sides of a board, the back as if the board had been turned over.

    Pads are coloured and signed by the role of their net; parts have their designator where it
    fits. One unit is a millimetre.

    Parameters
    ----------
    board : Board
        With places; roles as far as they are known.
    highlight : str or None
        A net, a part or a pin that stands out.
    title : str
        Above the map; the name of the board if left out.
    remark : str
        Below the counts, where there is more to know of the map.

    Raises
    ------
    MisuseError
        If the board has no places, or nothing of the name to be highlighted.
    """
    box = box_of(board, _NO_EDGE)
    if box is None:
        raise MisuseError(f"it is not known where the parts of {board.name} are: no map")
    wanted = None if highlight is None else highlight_of(board, highlight)
    return _sheet(board, box, wanted, title or board.name, remark)


def _sheet(board: Board, box: Box, wanted: Highlight | None, title: str, remark: str) -> str:
    wide, high = 1e3 * box.width, 1e3 * box.height
    beside = wide <= _SAME_SHAPE * high * 2
    across = 2 * wide + MARGIN if beside else wide
    text = min(3.2, max(1.6, across / 70))
    said = [*_said(board, wanted), *filter(None, [remark])]
    top = MARGIN + (3.3 + 1.4 * len(said) + 1.6) * text
    frames = [Frame(Side.FRONT, box, MARGIN, top)]
    frames.append(
        Frame(Side.BACK, box, MARGIN + wide + MARGIN, top)
        if beside
        else Frame(Side.BACK, box, MARGIN, top + high + MARGIN + 2 * text)
    )
    bottom = frames[-1].top + high + 2 * text
    width = max(across, 40 * text)
    entries, tall = legend(board, MARGIN, bottom, width, text)
    foot = bottom + tall + 2 * text
    inside = [
        element("title", text_of(f"{title}, both sides")),
        element("style", text_of(style_sheet()).replace("&quot;", '"')),
        element("defs", signs()),
        element("rect", class_="sheet", width="100%", height="100%"),
        *heading(title, said, MARGIN, MARGIN, text),
        *(_side(board, frame, wanted, text) for frame in frames),
        entries,
        scale_bar(MARGIN, foot, wide, text),
    ]
    whole = f"0 0 {number(width + 2 * MARGIN)} {number(foot + MARGIN)}"
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + element(
        "svg", "\n".join(inside), xmlns="http://www.w3.org/2000/svg", viewBox=whole, role="img",
    )  # fmt: skip


def _said(board: Board, wanted: Highlight | None) -> list[str]:
    unknown = sum(board.role(net).value == "unknown" for net in board.nets)
    counts = f"{len(board.parts)} parts, {len(board.nets)} nets, {unknown} of them without a role"
    return [counts] if wanted is None else [counts, f"shown: {wanted.title}"]


def _side(board: Board, frame: Frame, wanted: Highlight | None, text: float) -> str:
    bodies = list(bodies_on(board.parts, frame))
    shapes = [body_shape(body, f"{body.part.reference} {body.part.note}") for body in bodies]
    names = list(labels_on(bodies, frame))
    words = "Front" if frame.side is Side.FRONT else "Back, turned over"
    over = list(highlight_shapes(board, frame, wanted)) if wanted else []
    inside = [
        element("text", words, class_="ink", x=frame.left, y=frame.top - 0.6 * text,
                font_size=text, font_weight="600"),
        *_edges(board, frame),
        *shapes,
        *pads_on(board, frame, bright=wanted.pins if wanted else None),
        *names,
        *over,
    ]  # fmt: skip
    return element("g", "\n".join(inside), id=f"side-{frame.side.value}")


def _edges(board: Board, frame: Frame) -> Iterator[str]:
    paths = joined([path for path in board.outline if len(path) > 1 and usable(*path)])
    if not paths:
        x, y, box = frame.left, frame.top, frame.box
        yield element("rect", class_="board unsure", x=x, y=y, width=1e3 * box.width,
                      height=1e3 * box.height)  # fmt: skip
    paths.sort(key=_extent, reverse=True)
    for place, path in enumerate(paths):
        closed = _near(path[0], path[-1]) and len(path) > 2
        name = ("board" if place == 0 else "hole") if closed else "line"
        yield element("path", class_=name, d=path_of(map(frame.place, path), closed))


def joined(paths: list[Path]) -> list[Path]:
    """Return paths put end to end where they meet, as files often list an edge line by line."""
    left, whole = list(paths), []
    while left:
        current = left.pop(0)
        while not _near(current[0], current[-1]):
            place = next((i for i, path in enumerate(left) if _meets(current, path)), None)
            if place is None:
                break
            path = left.pop(place)
            current += path[1:] if _near(current[-1], path[0]) else path[-2::-1]
        whole.append(current)
    return whole


def _meets(path: Path, other: Path) -> bool:
    return _near(path[-1], other[0]) or _near(path[-1], other[-1])


def _near(first: tuple[float, float], second: tuple[float, float]) -> bool:
    return hypot(first[0] - second[0], first[1] - second[1]) < _JOINED


def _extent(path: Path) -> float:
    xs, ys = [x for x, _ in path], [y for _, y in path]
    return (max(xs) - min(xs)) * (max(ys) - min(ys))
