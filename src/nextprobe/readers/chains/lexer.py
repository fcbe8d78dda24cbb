"""Words and signs of one line of chains."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

_QUOTED = r'"(?:\\.|[^"\\])*"'
_TOKEN = re.compile(
    rf'(?P<arrow>->|→|>)|(?P<bar>\|)|(?P<word>(?:{_QUOTED}|(?!->)[^\s>|→"])+)|(?P<stray>")'
)
_PIECE = re.compile(rf'({_QUOTED})|([^"]+)')
_PLAIN = re.compile(r"[^\s>|→\"#.][^\s>|→\".]*")
_ESCAPES = {"n": "\n", "r": "\r", "t": "\t"}


@dataclass(frozen=True)
class Word:
    """A name or a describing word.

    Parameters
    ----------
    text : str
        Without its quotes.
    column : int
        Counted from 1.
    dot : int or None
        Where the first dot outside quotes stands in `text`.
    quoted : bool
        Whether any of it was in quotes.
    """

    text: str
    column: int
    dot: int | None = None
    quoted: bool = False

    @property
    def reference(self) -> str:
        """What stands before the dot."""
        return self.text[: self.dot]

    @property
    def pin(self) -> str:
        """What stands behind the dot."""
        return "" if self.dot is None else self.text[self.dot + 1 :]


@dataclass(frozen=True)
class Sign:
    """``>``, ``|`` or a quote that is never closed."""

    kind: Literal[">", "|", '"']
    column: int


def tokens(line: str) -> tuple[Word | Sign, ...]:
    """Split a line into words and signs, up to its comment."""
    found: list[Word | Sign] = []
    place = 0
    while place < len(line):
        if line[place].isspace():
            place += 1
            continue
        match = _TOKEN.match(line, place)
        if line[place] == "#" or match is None:
            break
        found.append(_token(match))
        if match["stray"]:
            break
        place = match.end()
    return tuple(found)


def _token(match: re.Match[str]) -> Word | Sign:
    column = match.start() + 1
    if match["arrow"]:
        return Sign(">", column)
    if match["bar"]:
        return Sign("|", column)
    if match["stray"]:
        return Sign('"', column)
    return _word(match["word"], column)


def _word(raw: str, column: int) -> Word:
    text, dot, quoted = "", None, False
    for piece in _PIECE.finditer(raw):
        if piece[1] is not None:
            text += re.sub(r"\\(.)", lambda m: _ESCAPES.get(m[1], m[1]), piece[1][1:-1])
            quoted = True
            continue
        if dot is None and "." in piece[2]:
            dot = len(text) + piece[2].index(".")
        text += piece[2]
    return Word(text, column, dot, quoted)


def quote(text: str) -> str:
    """Put a text into quotes."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    for letter, character in _ESCAPES.items():
        escaped = escaped.replace(character, f"\\{letter}")
    return f'"{escaped}"'


def is_plain(text: str) -> bool:
    """Whether a text stays one undotted word without quotes."""
    return bool(_PLAIN.fullmatch(text)) and "->" not in text
