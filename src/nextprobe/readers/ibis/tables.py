"""Clamp tables of IBIS files: a voltage, then the typical, least and largest current.

ANSI/EIA-656, [GND Clamp] and [POWER Clamp] (from memory, but for the equation, which slides of
the IBIS Open Forum quote): currents are positive into the pin; the voltages of [GND Clamp] are
those of the pin above the ground clamp reference; those of [POWER Clamp] are turned round,
``Vtable = Vcc − Voutput``. Both clamps conduct at negative table voltages. ``NA`` stands for
a current that is not available; a table has two points or more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from nextprobe.circuit.clamp_table import ClampCorners, ClampTable
from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.ibis.numerals import UnreadableError, numeral
from nextprobe.readers.ibis.sections import Line, Section

DIRECTION = {"gnd_clamp": -1.0, "power_clamp": 1.0}
"""Sign that makes the current of a conducting clamp positive, by keyword."""

_COLUMNS = 4
_WRONG_WAY = 1e-3
_NAMES = ("typical", "minimum", "maximum")


@dataclass(frozen=True)
class _Row:
    volts: float
    currents: tuple[float | None, ...]
    line: int


def read_clamp(section: Section, source: str) -> tuple[ClampCorners | None, list[Finding]]:
    """Return the clamp of a table, None where it can not be used, and what is wrong with it."""
    reader = _Reader(section, source)
    return reader.clamp(), reader.findings


class _Reader:
    def __init__(self, section: Section, source: str) -> None:
        self.section = section
        self.source = source
        self.findings: list[Finding] = []

    def _say(self, what: str, line: int, remedy: str, severity: Severity = Severity.ERROR) -> None:
        where = Where(self.source, line, name=self.section.shown)
        self.findings.append(Finding(what, where, remedy, severity))

    def clamp(self) -> ClampCorners | None:
        rows = self._rows()
        if not self._is_ordered(rows):
            return None
        typ, least, largest = (self._column(rows, place) for place in range(3))
        if typ is None:
            return None
        return ClampCorners(typ, least, largest)

    def _rows(self) -> list[_Row]:
        rows, wrong, short = [], [], []
        for line in self.section.data():
            try:
                rows.append(_row(line))
            except UnreadableError as error:
                wrong.append((line.number, str(error)))
            else:
                if len(line.words) != _COLUMNS:
                    short.append(line.number)
        if wrong:
            first, why = wrong[0]
            what = f"{_counted(len(wrong))} of the table can not be read: {why}"
            self._say(what, first, "write voltage, typ, min and max, as in -0.6 -1.2mA NA NA")
        if short:
            what = f"{_counted(len(short))} of the table without four columns"
            remedy = "write NA for a current that is not known; what follows a fourth is left out"
            self._say(what, short[0], remedy, Severity.WARNING)
        return rows

    def _is_ordered(self, rows: Sequence[_Row]) -> bool:
        """Tell whether the voltages go one way; a table that turns back can not be trusted."""
        pairs = list(pairwise(rows))
        moves = [
            (after.volts > before.volts, after)
            for before, after in pairs
            if before.volts != after.volts
        ]
        turned = [row.line for rises, row in moves if rises != moves[0][0]]
        if turned:
            what = "the voltages turn back here, so the table is not used"
            self._say(what, turned[0], "put its lines in the order of their voltage")
            return False
        repeated = [after.line for before, after in pairs if before.volts == after.volts]
        if repeated:
            what = f"{_counted(len(repeated))} of the table with the voltage of the line above"
            self._say(what, repeated[0], "the first one counts", Severity.WARNING)
        return True

    def _column(self, rows: Sequence[_Row], place: int) -> ClampTable | None:
        points: dict[float, float] = {}
        for row in rows:
            current = row.currents[place]
            if current is not None:
                points.setdefault(-row.volts, DIRECTION[self.section.keyword] * current)
        if len(points) < 2:
            if points or place == 0:
                what = f"fewer than two points have a {_NAMES[place]} current"
                remedy = "the column is not used: a table has two points or more"
                severity = Severity.WARNING if place else Severity.ERROR
                self._say(what, self.section.line, remedy, severity)
            return None
        ordered = sorted(points.items())
        table = ClampTable(tuple(v for v, _ in ordered), tuple(i for _, i in ordered))
        if table.volts[-1] > 0.0 and table.amperes[-1] < -_WRONG_WAY:
            what = f"the {_NAMES[place]} current flows the wrong way, so the column is not used"
            self._say(what, self.section.line, "currents are positive into the pin")
            return None
        return table


def _row(line: Line) -> _Row:
    if len(line.words) < 2:
        raise UnreadableError(f"'{line.words[0][:30]}' stands alone")
    volts, *currents = [numeral(word) for word in line.words[:_COLUMNS]]
    if volts is None:
        raise UnreadableError("its voltage is NA")
    return _Row(volts, (*currents, None, None)[:3], line.number)


def _counted(count: int) -> str:
    return "one line" if count == 1 else f"{count} lines"
