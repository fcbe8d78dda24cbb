"""The words around a map: what signs mean, and how long ten millimetres are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from nextprobe.board import Board, Role
from nextprobe.drawing.marks import MARKS, mark_of
from nextprobe.drawing.svg import element, number, path_of, text_of

_LENGTHS = (1, 2, 5, 10, 20, 50, 100)


def signs() -> str:
    """Return the definitions of all signs."""
    return "".join(
        element(
            "path",
            id=f"sign-{mark.name}",
            class_=f"sign {'sign-own' if mark.fill == 'none' else 'sign-' + mark.name}",
            d=mark.sign,
        )
        for mark in MARKS.values()
    )


def legend(board: Board, left: float, top: float, width: float, text: float) -> tuple[str, float]:
    """Return what the signs mean, with the number of nets of each role, and its height [mm].

    Parameters
    ----------
    board : Board
    left, top, width : float
        Where it may stand on the sheet [mm].
    text : float
        Height of its letters [mm].
    """
    counted = Counter(board.role(net) for net in board.nets)
    shown = [role for role in MARKS if counted[role]]
    step = 15.0 * text
    columns = max(1, int(width // step))
    entries = "".join(
        _entry(
            role, counted[role], left + (i % columns) * step, top + (i // columns) * 2 * text, text
        )
        for i, role in enumerate(shown)
    )
    return entries, 2 * text * -(-len(shown) // columns)


def _entry(role: Role, count: int, x: float, y: float, text: float) -> str:
    mark = mark_of(role)
    half = 0.7 * text
    copper = element("rect", class_="copper", x=-half, y=-half, width=2 * half, height=2 * half,
                     rx=0.2 * half)  # fmt: skip
    sign = element("use", href=f"#sign-{mark.name}", transform=f"scale({number(0.8 * half)})")
    swatch = element(
        "g", copper + sign, class_=f"pad {mark.name}",
        transform=f"translate({number(x + half)} {number(y + half)})",
    )  # fmt: skip
    nets = "1 net" if count == 1 else f"{count} nets"
    words = text_of(role.value) + element("tspan", f"  {nets}", class_="quiet")
    return swatch + element("text", words, class_="ink", x=x + 2.8 * half, y=y + 1.05 * text,
                            font_size=text)  # fmt: skip


def scale_bar(left: float, top: float, width: float, text: float) -> str:
    """Return a bar of a round length, a quarter of the width or less."""
    length = max((each for each in _LENGTHS if each <= width / 4), default=_LENGTHS[0])
    tick = 0.4 * text
    points = [(left, top - tick), (left, top), (left + length, top), (left + length, top - tick)]
    bar = element("path", class_="line", d=path_of(points, closed=False))
    words = element("text", f"{length} mm", class_="ink", x=left + length + 0.5 * text,
                    y=top, font_size=text)  # fmt: skip
    return bar + words


def heading(title: str, said: list[str], left: float, top: float, text: float) -> Iterator[str]:
    """Yield the title and the lines below it."""
    yield element("text", text_of(title), class_="ink", x=left, y=top + 1.8 * text,
                  font_size=1.8 * text, font_weight="700")  # fmt: skip
    for row, line in enumerate(said):
        yield element("text", text_of(line), class_="quiet", x=left,
                      y=top + (3.3 + 1.4 * row) * text, font_size=text)  # fmt: skip
