"""Elements of SVG as text, whatever the words in them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from math import isfinite
from xml.sax.saxutils import escape

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (clause 2.2) does not allow as a character."""


def text_of(words: str) -> str:
    """Return words so that they stand in XML as they are."""
    return escape(_NOT_XML.sub("\ufffd", words), {'"': "&quot;", "'": "&apos;"})


def number(value: float) -> str:
    """Return a length in millimetres, without needless digits."""
    return f"{value:.3f}".rstrip("0").rstrip(".") if isfinite(value) else "0"


def element(name: str, inside: str = "", /, **attributes: str | float) -> str:
    """Return an element; ``class_`` and ``stroke_width`` lose or change their underscore."""
    words = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_attribute(value)}"'
        for key, value in attributes.items()
        if value != ""
    )
    return f"<{name}{words}>{inside}</{name}>" if inside else f"<{name}{words}/>"


def _attribute(value: str | float) -> str:
    return number(value) if isinstance(value, int | float) else text_of(value)


def path_of(points: Iterable[tuple[float, float]], closed: bool) -> str:
    """Return the data of a path through points."""
    words = " ".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{words}{'Z' if closed else ''}"
