"""An IBIS file as keywords, each with what stands behind it and below it.

ANSI/EIA-656, general syntax rules (from memory): a keyword stands in brackets at the start of
its line; case does not matter in it, nor whether its words are joined by blanks or underscores;
what follows the comment character, ``|`` unless [Comment Char] says otherwise, is no part of a
line; [End] ends the file.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from nextprobe.errors import Finding, Severity, Where

_KEYWORD = re.compile(r"\s*\[\s*([^\[\]]*?)\s*\](.*)")
_COMMENT_CHAR = re.compile(r"\s*\[\s*comment[\s_]+char\s*\]\s*(\S?)", re.IGNORECASE)
_LINE_ENDS = re.compile(r"\r\n|\r|\n")
_ALLOWED = frozenset("!\"#$%&'()*,:;<>?@\\^`{|}~")


@dataclass(frozen=True)
class Line:
    """One line, without its comment.

    Parameters
    ----------
    number : int
        Counted from 1.
    words : tuple of str
        What blanks and tabs separate.
    """

    number: int
    words: tuple[str, ...]


@dataclass
class Section:
    """A keyword and what belongs to it.

    Parameters
    ----------
    keyword : str
        In small letters, its words joined by underscores.
    shown : str
        As it is written.
    line : int
        Where it stands.
    rest : str
        What stands behind it.
    lines : list of Line
        What stands below it, if anybody asked for it; none is empty.
    """

    keyword: str
    shown: str
    line: int
    rest: str
    lines: list[Line] = field(default_factory=list)

    def data(self) -> Iterator[Line]:
        """Yield the lines with data, what stands behind the keyword among them."""
        if self.rest:
            yield Line(self.line, tuple(self.rest.split()))
        yield from self.lines


@dataclass(frozen=True)
class Sections:
    """All keywords of a text in their order; `ended` tells whether [End] was among them."""

    items: tuple[Section, ...]
    ended: bool
    findings: tuple[Finding, ...]


def sections_of(text: str, source: str, wanted: Collection[str]) -> Sections:
    """Return the keywords of any text; what stands before the first is left out.

    Lines are kept below `wanted` keywords only: most of a file are waveforms.
    """
    found: list[Section] = []
    findings: list[Finding] = []
    comment, ended = "|", False
    for number, whole in enumerate(_LINE_ENDS.split(text), start=1):
        chosen = _COMMENT_CHAR.match(whole) if "[" in whole else None
        if chosen is not None:
            comment = _comment_char(chosen[1], comment, Where(source, number), findings)
            continue
        line = whole.partition(comment)[0]
        match = _KEYWORD.match(line) if "[" in line else None
        if match is not None and match[1]:
            keyword = re.sub(r"[\s_]+", "_", match[1]).lower()
            if keyword == "end":
                ended = True
                break
            found.append(Section(keyword, f"[{match[1]}]", number, match[2].strip()))
        elif found and found[-1].keyword in wanted and (words := line.split()):
            found[-1].lines.append(Line(number, tuple(words)))
    return Sections(tuple(found), ended, tuple(findings))


def _comment_char(wanted: str, before: str, where: Where, findings: list[Finding]) -> str:
    if wanted in _ALLOWED and wanted:
        return wanted
    what = f"'{wanted}' can not begin a comment; '{before}' still does"
    remedy = "write it as in [Comment Char] #_char"
    findings.append(Finding(what, where, remedy, Severity.WARNING))
    return before
