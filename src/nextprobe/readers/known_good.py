"""``known_good.csv``: readings of boards that are known to work.

A heading and one reading a line::

    point, mode,  reading, boards, source
    J4.3,  diode, 0.512,   2,      mean of 2 known-good boards
    J4.21, diode, OL,      2,      mean of 2 known-good boards

Only point and reading are needed: the mode is diode and the number of boards one where nobody
says otherwise. Modules are unplugged and the positive lead is on ground.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Literal

from nextprobe.board import OVER_RANGE, Board, MeterMode, OverRange
from nextprobe.errors import Finding, Severity, Where
from nextprobe.packs.known_good import KnownGood
from nextprobe.quantities import parse_meter_text
from nextprobe.readers.spreadsheet import TableLine, read_table

COLUMNS = ("point", "mode", "reading", "boards", "source")
_UNITS: Mapping[MeterMode, Literal["diode", "volt", "ohm", "farad"]] = {
    MeterMode.DIODE: "diode",
    MeterMode.OHMS: "ohm",
    MeterMode.LOW_OHMS: "ohm",
    MeterMode.CONTINUITY: "ohm",
    MeterMode.CAPACITANCE: "farad",
    MeterMode.DC_VOLTS: "volt",
}


def read_known_good(
    text: str, source: str = "known_good.csv", board: Board | None = None
) -> tuple[tuple[KnownGood, ...], tuple[Finding, ...]]:
    """Read a table of known-good readings.

    Parameters
    ----------
    text : str
        Any text; a line with a mistake is left out, with a finding.
    source : str
        What findings call the text.
    board : Board or None
        Points that this board lacks are findings.
    """
    lines, findings = read_table(text, source)
    if not lines:
        return (), findings
    headings = [cell.lower() for cell in lines[0].cells]
    wrong = _headings(headings, source, lines[0].number)
    if wrong:
        return (), (*findings, *wrong)
    rows: dict[tuple[str, MeterMode], KnownGood] = {}
    found = list(findings)
    for line in lines[1:]:
        row = _row(dict(zip(headings, line.cells, strict=False)), line, source, board)
        if isinstance(row, KnownGood) and (row.point, row.mode) in rows:
            first = rows[row.point, row.mode].line
            what = f"{row.point} is given twice in {row.mode} mode, first on line {first}"
            row = Finding(what, Where(source, line.number, name=row.point), "keep one of them")
        if isinstance(row, Finding):
            found.append(row)
        elif row is not None:
            rows[row.point, row.mode] = row
    return tuple(rows.values()), tuple(found)


def _headings(headings: list[str], source: str, line: int) -> list[Finding]:
    where = Where(source, line)
    example = f"start with the heading: {','.join(COLUMNS)}"
    found = [
        Finding(f"there is no column '{name}'", where, example)
        for name in ("point", "reading")
        if name not in headings
    ]
    if found:
        return found
    for heading in headings:
        if heading not in COLUMNS:
            close = get_close_matches(heading, COLUMNS, n=1)
            remedy = f"did you mean '{close[0]}'?" if close else example
            found.append(Finding(f"'{heading}' is not a column", where, remedy))
    return found


def _row(
    cells: Mapping[str, str], line: TableLine, source: str, board: Board | None
) -> KnownGood | Finding | None:
    point = cells["point"]
    where = Where(source, line.number, name=point or None)
    if board is not None and not board.has_point(point):
        what = f"{board.name} has no pin or net {point or 'without a name'}"
        return Finding(what, where, "write a pin as in J4.12, or a net")
    try:
        mode = MeterMode(cells.get("mode") or MeterMode.DIODE)
    except ValueError:
        known = ", ".join(MeterMode)
        return Finding(f"'{cells['mode']}' is not a meter mode", where, f"known here: {known}")
    boards = cells.get("boards") or "1"
    if not boards.isdecimal() or not 1 <= int(boards[:9]) <= 100_000:
        return Finding(f"'{boards}' is not a number of boards", where, "write 1 or more")
    value = _value(cells.get("reading", ""), mode, where)
    if not isinstance(value, float | OverRange):
        return value
    return KnownGood(point, mode, value, int(boards), cells.get("source", ""), line.number)


def _value(text: str, mode: MeterMode, where: Where) -> float | OverRange | Finding | None:
    read = parse_meter_text(text, _UNITS[mode])
    if read.finding is not None:
        return Finding(read.finding.what, where, read.finding.remedy, read.finding.severity)
    if read.value == "over-range":
        return OVER_RANGE
    if read.value == "ground":
        return 0.0
    if isinstance(read.value, str):
        return Finding(f"'{text}' is no reading", where, "leave the line out", Severity.NOTE)
    return read.value
