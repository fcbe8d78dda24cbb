"""Small charts as SVG: bars with intervals, a histogram, and chances against what came true."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, floor, log10

from nextprobe.drawing.svg import element, text_of

_WIDTH, _BAR, _LEFT, _RIGHT, _TOP, _BOTTOM = 640.0, 34.0, 180.0, 90.0, 40.0, 44.0
_SIDE = 320.0
_STYLE = """
svg{background:#fff;font:13px "DejaVu Sans","Segoe UI",sans-serif}
text{fill:#1b1b1f}.quiet{fill:#5b5d63;font-size:11px}.title{font-weight:600;font-size:14px}
.bar{fill:#33658a}.span{stroke:#1b1b1f;stroke-width:1.5}.axis{stroke:#5b5d63;fill:none}
.even{stroke:#5b5d63;stroke-dasharray:4 3;fill:none}.dot{fill:#33658a}
@media (prefers-color-scheme:dark){svg{background:#141619}text{fill:#ececec}
.quiet{fill:#a9adb3}.span{stroke:#ececec}.bar,.dot{fill:#86bbd8}}
"""


def bars(
    title: str, values: Mapping[str, tuple[float, float, float]], unit: str, *, digits: int = 0
) -> str:
    """Return bars with intervals.

    Parameters
    ----------
    title : str
    values : mapping of str to (float, float, float)
        By label: value, low and high, none negative.
    unit : str
    digits : int
        After the point, of the values beside the bars.
    """
    top = max((high for _, _, high in values.values()), default=0.0) or 1.0
    scale = (_WIDTH - _LEFT - _RIGHT) / top
    parts = []
    for row, (label, (value, low, high)) in enumerate(values.items()):
        y = _TOP + row * _BAR
        middle = y + _BAR / 2.0
        parts += [
            _text(_LEFT - 8.0, middle + 4.0, label, "end"),
            element("rect", x=_LEFT, y=y + 6.0, width=max(0.0, value) * scale, height=_BAR - 12.0,
                    class_="bar"),
            element("line", x1=_LEFT + max(0.0, low) * scale, x2=_LEFT + high * scale, y1=middle,
                    y2=middle, class_="span"),
            _text(_LEFT + high * scale + 8.0, middle + 4.0, f"{value:.{digits}f} {unit}"),
        ]  # fmt: skip
    return _sheet(title, _WIDTH, _TOP + len(values) * _BAR + 16.0, parts)


def histogram(title: str, counts: Sequence[int], label: str) -> str:
    """Return a histogram over equal parts of 0 to 1, with the line that even counts would have."""
    top = max(max(counts, default=0), 1)
    scale, width = _SIDE / (1.15 * top), _SIDE / max(len(counts), 1)
    foot = _TOP + _SIDE
    parts = [
        element("rect", x=60.0 + place * width + 1.0, y=foot - count * scale, width=width - 2.0,
                height=count * scale, class_="bar")
        for place, count in enumerate(counts)
    ]  # fmt: skip
    even = foot - sum(counts) / max(len(counts), 1) * scale
    parts.append(element("line", x1=60.0, x2=60.0 + _SIDE, y1=even, y2=even, class_="even"))
    parts += [*_axes(), _text(54.0, foot - top * scale + 4.0, str(top), "end", "quiet")]
    parts += _ticks(["0", "0.5", "1"], label)
    return _sheet(title, _SIDE + 90.0, foot + _BOTTOM, parts)


def calibration(title: str, curve: Sequence[tuple[float, float, int]], least: float = 1e-4) -> str:
    """Return chances against the shares that came true, both on a logarithmic scale.

    Parameters
    ----------
    title : str
    curve : sequence of (float, float, int)
        Mean chance, share that came true, how many.
    least : float
        What lies below is drawn at the edge.
    """
    decades = ceil(-log10(least))

    def along(value: float) -> float:
        return _SIDE * (1.0 + log10(max(value, least)) / decades)

    foot = _TOP + _SIDE
    parts = [element("line", x1=60.0, y1=foot, x2=60.0 + _SIDE, y2=_TOP, class_="even"), *_axes()]
    for chance, happened, count in curve:
        radius = 2.0 + min(6.0, log10(count + 1.0))
        about = element("title", text_of(f"{chance:.4f} said, {happened:.4f} true, {count} times"))
        parts.append(
            element("circle", about, cx=60.0 + along(chance), cy=foot - along(happened), r=radius,
                    class_="dot")
        )  # fmt: skip
    words = [_percent(10.0 ** (step - decades)) for step in range(decades + 1)]
    parts += _ticks(words, "chance that was given")
    for step, word in enumerate(words):
        parts.append(_text(54.0, foot - _SIDE * step / decades + 4.0, word, "end", "quiet"))
    return _sheet(title, _SIDE + 90.0, foot + _BOTTOM, parts)


def _percent(value: float) -> str:
    return f"{100.0 * value:.{max(0, -floor(log10(100.0 * value)))}f} %"


def _axes() -> list[str]:
    foot = _TOP + _SIDE
    ends = [(60.0, 60.0 + _SIDE, foot, foot), (60.0, 60.0, _TOP, foot)]
    return [element("line", x1=a, x2=b, y1=c, y2=d, class_="axis") for a, b, c, d in ends]


def _ticks(words: Sequence[str], label: str) -> list[str]:
    foot = _TOP + _SIDE
    step = _SIDE / max(len(words) - 1, 1)
    marks = [
        _text(60.0 + place * step, foot + 16.0, word, "middle", "quiet")
        for place, word in enumerate(words)
    ]
    return [*marks, _text(60.0 + _SIDE / 2.0, foot + 34.0, label, "middle")]


def _text(x: float, y: float, words: str, anchor: str = "start", class_: str = "") -> str:
    return element("text", text_of(words), x=x, y=y, text_anchor=anchor, class_=class_)


def _sheet(title: str, width: float, height: float, parts: Sequence[str]) -> str:
    inside = "".join(
        [
            element("title", text_of(title)),
            element("style", text_of(_STYLE)),
            _text(12.0, 22.0, title, class_="title"),
            *parts,
        ]
    )
    return element(
        "svg", inside, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {width:g} {height:g}",
        width=width, height=height, role="img",
    ) + "\n"  # fmt: skip
