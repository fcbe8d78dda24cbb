"""A table of readings of known-good boards: points down, boards across, as spreadsheets have it.

A heading names the boards; units may stand in it, or behind the values::

    point;  DON-1;  DON-2 [mV];  mode
    J4.3;   0,658;  655;         diode
    J4.21;  OL;     OL;          diode

Without a heading there are two columns, the point and one board. An empty cell or a dash is a
point that was not measured. Means over boards belong into the pack's ``known_good.csv`` instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from nextprobe.board import Board, MeterMode
from nextprobe.errors import DataError, Finding, MisuseError, Severity, Where
from nextprobe.quantities import parse_meter_text
from nextprobe.readers.spreadsheet import TableLine, read_table
from nextprobe.reference.good_board import Value
from nextprobe.workbench.meter_entry import UNITS, entered_value, known_point, mode_of

POINTS = frozenset({"point", "pin", "net", "test point", "place"})
REMARKS = frozenset({"name", "signal", "note", "notes", "remark", "remarks", "comment"})
MEANS = frozenset({"reading", "boards", "mean", "average"})
_UNIT = re.compile(r"\s*[\[(]\s*(?P<unit>[^\])]+?)\s*[\])]\s*$")
_BARE = re.compile(r"[-+−]?[\d.,]+")
_EXAMPLE = "start with a heading: point, then a label for each board"


@dataclass(frozen=True)
class BoardColumn:
    """What one board read in one meter mode.

    Parameters
    ----------
    label : str
        Of the board; empty where nobody named it.
    mode : MeterMode
    readings : tuple of (str, float or OverRange)
        Point and value [V, ohm or F].
    line : int
        Of its first reading, counted from 1.
    column : int
        Of the table, counted from 1.
    """

    label: str
    mode: MeterMode
    readings: tuple[tuple[str, Value], ...]
    line: int
    column: int


@dataclass(frozen=True)
class _Heading:
    """Which column holds what, counted from 0; `boards` are place, label and unit."""

    boards: tuple[tuple[int, str, str], ...] = ((1, "", ""),)
    mode: int | None = None
    nameless: tuple[int, ...] = ()
    width: int = 2


@dataclass
class _Sheet:
    """Readings as they are gathered: of a board in a mode, by point; with the line of each."""

    column: int
    values: dict[str, tuple[int, Value]] = field(default_factory=dict)


def read_good_boards(
    text: str,
    source: str = "readings",
    *,
    mode: MeterMode = MeterMode.DIODE,
    board: Board | None = None,
) -> tuple[tuple[BoardColumn, ...], tuple[Finding, ...]]:
    """Read a table of readings of one board or several.

    Parameters
    ----------
    text : str
        Any text: columns apart by tabs, semicolons, commas or blanks. A cell that is not
        understood is left out, with a finding that names its line and column.
    source : str
        What findings call the text.
    mode : MeterMode
        What the meter was set to where the table does not say.
    board : Board or None
        Points that this board lacks are findings.
    """
    lines, findings = read_table(text, source)
    found = list(findings)
    if not lines:
        return (), (*found, Finding("there is no reading in it", Where(source), _EXAMPLE))
    heading, wrong = _heading(lines[0], source)
    found += wrong
    if heading is None:
        return (), tuple(found)
    table = _Table(source, heading, mode, board)
    for line in lines[1:] if _is_heading(lines[0]) else lines:
        found += table.read(line)
    return table.columns, tuple(found)


def _is_heading(line: TableLine) -> bool:
    return line.cells[0].casefold() in POINTS


def _heading(line: TableLine, source: str) -> tuple[_Heading | None, list[Finding]]:
    where = Where(source, line.number)
    if not _is_heading(line):
        if len(line.cells) == 2:
            return _Heading(), []
        what = f"{len(line.cells)} columns, and nothing says which boards they are"
        return None, [Finding(what, where, _EXAMPLE)]
    means = [cell for cell in line.cells if cell.casefold() in MEANS]
    if means:
        remedy = "put means into known_good.csv of the pack; here each column is one board"
        return None, [Finding(f"'{means[0]}' is a column of means over boards", where, remedy)]
    return _named(line, source)


def _named(line: TableLine, source: str) -> tuple[_Heading | None, list[Finding]]:
    found: list[Finding] = []
    boards: dict[str, tuple[int, str, str]] = {}
    nameless: list[int] = []
    mode = None
    for place, cell in enumerate(line.cells[1:], start=1):
        unit = _UNIT.search(cell)
        label = " ".join((cell[: unit.start()] if unit else cell).split())
        if label.casefold() == "mode":
            mode = place
        elif label.casefold() in boards:
            what = f"the board {label} has two columns; the second is left out"
            where = Where(source, line.number, place + 1)
            found.append(Finding(what, where, "give each board a label of its own"))
        elif not label:
            nameless.append(place)
        elif label.casefold() not in REMARKS:
            boards[label.casefold()] = (place, label, unit["unit"] if unit else "")
    if not boards:
        what = "the heading names no board"
        return None, [*found, Finding(what, Where(source, line.number), _EXAMPLE)]
    return _Heading(tuple(boards.values()), mode, tuple(nameless), len(line.cells)), found


class _Table:
    """A table as it is read, line by line."""

    def __init__(
        self, source: str, heading: _Heading, mode: MeterMode, board: Board | None
    ) -> None:
        self._source = source
        self._heading = heading
        self._mode = mode
        self._board = board
        self._sheets: dict[tuple[str, MeterMode], _Sheet] = {}

    @property
    def columns(self) -> tuple[BoardColumn, ...]:
        """What has been read so far."""
        return tuple(
            BoardColumn(
                label,
                mode,
                tuple((point, value) for point, (_, value) in sheet.values.items()),
                min(line for line, _ in sheet.values.values()),
                sheet.column,
            )
            for (label, mode), sheet in self._sheets.items()
        )

    def read(self, line: TableLine) -> Iterator[Finding]:
        """Put the readings of a line where they belong; give what is wrong with it."""
        heading = self._heading
        cells = [*line.cells, *[""] * (heading.width - len(line.cells))]
        if any(cells[heading.width :]):
            what = f"{len(cells)} cells, and {heading.width} columns; the line is left out"
            remedy = "where decimals have a comma, separate columns by semicolons or tabs"
            yield Finding(what, self._where(line, heading.width), remedy)
            return
        for place in heading.nameless:
            if cells[place]:
                what = f"'{cells[place]}' is in a column without a heading; it is left out"
                yield Finding(what, self._where(line, place), "name the board that it is of")
        point, wrong = self._point(cells[0], self._where(line, 0))
        if wrong is not None:
            yield wrong
            return
        try:
            mode = mode_of(cells[heading.mode] or self._mode) if heading.mode else self._mode
        except MisuseError as error:
            yield Finding(str(error), self._where(line, heading.mode or 0))
            return
        for place, label, unit in heading.boards:
            where = self._where(line, place, f"{label} {point}".strip())
            value = _value(cells[place], unit, mode, where)
            if isinstance(value, Finding):
                yield value
            elif value is not None:
                yield from self._put((label, mode), point, value, where)

    def _where(self, line: TableLine, place: int, name: str | None = None) -> Where:
        return Where(self._source, line.number, place + 1, name)

    def _point(self, point: str, where: Where) -> tuple[str, Finding | None]:
        if not point:
            what = "this line has no point; it is left out"
            return "", Finding(what, where, "write a pin as in J4.12, or a net")
        known, unknown = known_point(point, self._board)
        if self._board is None or unknown is None:
            return known, None
        what = f"{self._board.name} has no pin or net {point}; the line is left out"
        close = unknown.remedy.partition("?")[0] + "?"
        remedy = close if close.startswith("did you") else "write a pin as in J4.12, or a net"
        return known, Finding(what, where, remedy)

    def _put(
        self, key: tuple[str, MeterMode], point: str, value: Value, where: Where
    ) -> Iterator[Finding]:
        assert where.line is not None
        assert where.column is not None
        sheet = self._sheets.setdefault(key, _Sheet(where.column))
        if point in sheet.values:
            first = sheet.values[point][0]
            what = f"{point} is given twice, first on line {first}; the second is left out"
            yield Finding(what, where, "keep one of them")
            return
        sheet.values[point] = (where.line, value)


def _value(text: str, unit: str, mode: MeterMode, where: Where) -> Value | Finding | None:
    """Return a value, a finding, or None for what was not measured."""
    if unit and _BARE.fullmatch(text):
        text = f"{text} {unit}"
    read = parse_meter_text(text, UNITS[mode])
    if read.value is None and read.finding is None:
        return None
    if read.value == "not connected":
        what = f"'{text}' is no reading; it is left out"
        return Finding(what, where, "write OL for over-range", Severity.NOTE)
    try:
        return entered_value(text, mode, where.name or "")
    except DataError as error:
        [first] = error.findings
        return Finding(first.what, where, first.remedy)
