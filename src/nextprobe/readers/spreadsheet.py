"""Tables as people paste and type them: separators, decimals and comments.

Columns may be separated by tabs, semicolons, commas or blanks, and decimals may be written with
a comma. Which of these a text uses is decided once, from all of its lines.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from nextprobe.errors import Finding, Where

Separator = Literal["\t", ";", ",", " "]

_COMMENT = re.compile(r"(?:^|\s)(?:#|//).*$")
_SOMETHING = re.compile(r"[^\s;,]")
_DECIMAL_COMMA = re.compile(r"\d*,\d+")
_UNIT_APART = re.compile(r"(?<=[\dlL.])\s+(?=(?:[mk]?[Vv]|[kM]?(?:ohms?|Ω))(?:\s|$))")


@dataclass(frozen=True)
class TableLine:
    """Cells of one line, which is counted from 1."""

    number: int
    cells: tuple[str, ...]


def read_table(text: str, source: str) -> tuple[tuple[TableLine, ...], tuple[Finding, ...]]:
    """Split a text into the cells of its lines, without comments and empty lines.

    Parameters
    ----------
    text : str
        Any text.
    source : str
        What findings call it.
    """
    bare = [
        (number, _COMMENT.sub("", line).strip(" \r"))
        for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), start=1)
    ]
    lines = [(number, line) for number, line in bare if _SOMETHING.search(line)]
    separator = separator_of([line for _, line in lines])
    rows: list[TableLine] = []
    findings: list[Finding] = []
    for number, line in lines:
        try:
            rows.append(TableLine(number, split_line(line, separator)))
        except csv.Error as error:
            where = Where(source, number)
            findings.append(Finding(f"the line can not be read: {error}", where, "retype it"))
    return tuple(rows), tuple(findings)


def separator_of(lines: Sequence[str]) -> Separator:
    """Decide what separates the columns of `lines`."""
    separators: tuple[Separator, ...] = ("\t", ";")
    for separator in separators:
        if _in_most(separator in line for line in lines):
            return separator
    if _in_most("," in line and not _only_decimals(line) for line in lines):
        return ","
    return " "


def _in_most(answers: Iterable[bool]) -> bool:
    counted = list(answers)
    return bool(counted) and 2 * sum(counted) >= len(counted)


def _only_decimals(line: str) -> bool:
    """Whether each comma is a decimal one: it stands within a number that blanks set apart."""
    fields = line.split()
    return len(fields) > 1 and all(
        "," not in field or _DECIMAL_COMMA.fullmatch(re.sub(r"[A-Za-zΩ]+$", "", field))
        for field in fields
    )


def split_line(line: str, separator: Separator) -> tuple[str, ...]:
    """Split one line into stripped cells; raises csv.Error if its quotes make no sense."""
    if separator == " ":
        return tuple(_UNIT_APART.sub("", line).split())
    cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    return tuple(cell.strip() for cell in cells)
