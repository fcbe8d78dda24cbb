"""Lines of chains as statements."""

from __future__ import annotations

import re
from dataclasses import dataclass

from nextprobe.errors import Finding, Where
from nextprobe.readers.chains.lexer import Sign, Word, tokens

_LINE_END = re.compile(r"\r\n|\n|\r")
VERBS = ("board", "part", "value", "net", "role", "supply", "at", "pins", "implied")


@dataclass(frozen=True)
class Directive:
    """A line that declares something."""

    verb: str
    words: tuple[Word, ...]
    line: int
    column: int


@dataclass(frozen=True)
class Item:
    """A point or a part in a chain, with the words that describe it."""

    name: Word
    words: tuple[Word, ...] = ()


@dataclass(frozen=True)
class Chain:
    """A main path and what hangs on its end."""

    path: tuple[Item, ...]
    hanging: tuple[tuple[Item, ...], ...]
    line: int


def parse(text: str, source: str) -> tuple[tuple[Directive | Chain, ...], tuple[Finding, ...]]:
    """Read all lines of a text; a line with a mistake is left out, with a finding."""
    statements: list[Directive | Chain] = []
    findings: list[Finding] = []
    for number, line in enumerate(_LINE_END.split(text.removeprefix("\ufeff")), start=1):
        found = _statement(tokens(line), number, source)
        if isinstance(found, Finding):
            findings.append(found)
        elif found is not None:
            statements.append(found)
    return tuple(statements), tuple(findings)


def _statement(
    marks: tuple[Word | Sign, ...], line: int, source: str
) -> Directive | Chain | Finding | None:
    if not marks:
        return None
    for mark in marks:
        if isinstance(mark, Sign) and mark.kind == '"':
            where = Where(source, line, mark.column)
            return Finding("this quote is never closed", where, 'add a "')
    words = tuple(mark for mark in marks if isinstance(mark, Word))
    first = marks[0]
    if len(words) == len(marks) and words[0].text in VERBS and not words[0].quoted:
        return Directive(words[0].text, words[1:], line, words[0].column)
    if isinstance(first, Sign):
        where = Where(source, line, first.column)
        return Finding(f"nothing stands before this {first.kind}", where, "start with a point")
    return _chain(marks, line, source)


def _chain(marks: tuple[Word | Sign, ...], line: int, source: str) -> Chain | Finding:
    paths: list[list[Item]] = [[]]
    words: list[Word] = []
    for mark in (*marks, None):
        if isinstance(mark, Word):
            words.append(mark)
            continue
        if not words:
            return _gap(mark or marks[-1], line, source)
        paths[-1].append(Item(words[0], tuple(words[1:])))
        words = []
        if isinstance(mark, Sign) and mark.kind == "|":
            paths.append([])
    return Chain(tuple(paths[0]), tuple(tuple(path) for path in paths[1:]), line)


def _gap(mark: Word | Sign, line: int, source: str) -> Finding:
    kind = mark.kind if isinstance(mark, Sign) else ""
    where = Where(source, line, mark.column)
    return Finding(f"a point or a part is missing next to this {kind}", where, f"delete the {kind}")
