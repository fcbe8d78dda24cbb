"""A pinout as people type it: ``12 452``, ``12 .452``, ``J4.12 CAM_SDA OL``, ``12 gnd``.

One pin a line; comments start with ``#``. With a heading, columns may stand in any order and be
called ``pin``, ``connector``, ``name``, ``reading`` (with a unit, as in ``reading [mV]``) or
``role``. Without one, the pin comes first, what reads as a reading is the reading, and the rest is
the name.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Literal

from nextprobe.board import OVER_RANGE, OverRange, Role
from nextprobe.board.pinout import PinRow, PinTable
from nextprobe.errors import Finding, Severity, Where
from nextprobe.quantities import ReadingText, parse_meter_text
from nextprobe.readers.spreadsheet import TableLine, read_table

Column = Literal["pin", "connector", "name", "reading", "role", "ignored"]

_HEADINGS: dict[str, Column] = {
    "pin": "pin", "pins": "pin", "number": "pin", "no": "pin", "nr": "pin", "point": "pin",
    "connector": "connector", "conn": "connector", "socket": "connector", "ref": "connector",
    "name": "name", "net": "name", "signal": "name", "function": "name", "label": "name",
    "reading": "reading", "diode": "reading", "diode mode": "reading", "value": "reading",
    "good": "reading", "known good": "reading", "drop": "reading", "v": "reading",
    "mv": "reading", "volts": "reading", "volt": "reading", "millivolts": "reading",
    "measured": "reading", "role": "role",
    "note": "ignored", "notes": "ignored", "remark": "ignored", "comment": "ignored",
}  # fmt: skip
_UNIT_IN_HEADING = re.compile(r"[\[(/ ]*\b(mV|V)\b[\])]*\s*$", re.IGNORECASE)
_PIN = re.compile(r"(?:pin\s*)?#?(?:(?P<connector>[A-Za-z]+\d+)[.:])?(?P<pin>[A-Za-z]{0,2}\d{1,4})")
_ROLES = {role.value: role for role in Role}


@dataclass(frozen=True)
class _Layout:
    columns: tuple[Column, ...] = ()
    bare_unit: Literal["V", "mV"] | None = None


@dataclass
class _Progress:
    source: str
    connector: str
    rows: dict[str, PinRow] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def complain(self, what: str, line: int, remedy: str, name: str | None = None) -> None:
        self.findings.append(Finding(what, Where(self.source, line, name=name), remedy))


def read_pins(
    text: str, connector: str = "J1", source: str = "pins.csv"
) -> tuple[PinTable, tuple[Finding, ...]]:
    """Read a pinout.

    Parameters
    ----------
    text : str
        Any text; what can not be read is returned as findings, and the rest is still read.
    connector : str
        The connector of pins that are written without one.
    source : str
        What findings call the text.
    """
    lines, findings = read_table(text, source)
    progress = _Progress(source, connector, findings=list(findings))
    layout = _layout(lines[0].cells) if lines else None
    for line in lines[1:] if layout is not None else lines:
        _read_line(line, layout or _Layout(), progress)
    return PinTable(tuple(progress.rows.values())), tuple(progress.findings)


def _layout(cells: tuple[str, ...]) -> _Layout | None:
    """Read a heading; None if the line is not one."""
    columns: list[Column] = []
    unit: Literal["V", "mV"] | None = None
    for cell in cells:
        found = _UNIT_IN_HEADING.search(cell)
        heading = _UNIT_IN_HEADING.sub("", cell).strip().lower() if found else cell.lower()
        kind = _HEADINGS.get(heading or "reading")
        if found and (kind == "reading" or kind is None):
            unit = "mV" if found[1].lower() == "mv" else "V"
            if columns and columns[-1] == "reading" and not heading:
                continue
            kind = "reading"
        columns.append(kind or "ignored")
    if "pin" not in columns or any(_PIN.fullmatch(cell) for cell in cells):
        return None
    return _Layout(tuple(columns), unit)


def _read_line(line: TableLine, layout: _Layout, progress: _Progress) -> None:
    cells = _by_heading(line, layout) if layout.columns else _by_look(line)
    match = _PIN.fullmatch(cells["pin"])
    if match is None:
        shown = cells["pin"] or "an empty cell"
        remedy = "start the line with the pin, as in 12 or J4.12"
        progress.complain(f"{shown!r} is not a pin", line.number, remedy)
        return
    connector = match["connector"] or cells["connector"] or progress.connector
    point = f"{connector}.{match['pin']}"
    reading = parse_meter_text(cells["reading"], "diode", layout.bare_unit)
    if reading.finding is not None:
        finding = reading.finding
        progress.complain(finding.what, line.number, finding.remedy, point)
    row = PinRow(
        connector,
        match["pin"],
        cells["name"],
        _good(reading),
        _role(cells, reading, line, progress),
        line.number,
    )
    _keep(row, progress)


def _by_heading(line: TableLine, layout: _Layout) -> dict[str, str]:
    cells = dict.fromkeys(("pin", "connector", "name", "reading", "role"), "")
    for column, cell in zip(layout.columns, line.cells, strict=False):
        cells[column] = cells.get(column) or cell
    return cells


def _by_look(line: TableLine) -> dict[str, str]:
    """Tell the cells of a line without heading by what they look like."""
    pin, *rest = line.cells
    if pin.lower() == "pin" and rest:
        pin, *rest = rest
    filled = [cell for cell in rest if cell]
    at = next((i for i in reversed(range(len(filled))) if _is_reading(filled[i])), None)
    if at is None:
        at = next((i for i, cell in enumerate(filled) if cell[0] in "0123456789.,-+"), None)
    reading = filled.pop(at) if at is not None else ""
    return {"pin": pin, "connector": "", "name": " ".join(filled), "reading": reading, "role": ""}


def _is_reading(cell: str) -> bool:
    reading = parse_meter_text(cell, "diode")
    return reading.value is not None or (reading.finding is None)


def _good(reading: ReadingText) -> float | OverRange | None:
    if isinstance(reading.value, float):
        return reading.value
    return OVER_RANGE if reading.value == "over-range" else None


def _role(
    cells: dict[str, str], reading: ReadingText, line: TableLine, progress: _Progress
) -> Role | None:
    stated = cells["role"].lower()
    if stated and stated not in _ROLES:
        close = get_close_matches(stated, _ROLES, 1) or ["one of " + ", ".join(_ROLES)]
        progress.complain(f"{stated!r} is not a role", line.number, f"write {close[0]}")
    if stated in _ROLES:
        return _ROLES[stated]
    if reading.value == "ground":
        return Role.GROUND
    return Role.NOT_CONNECTED if reading.value == "not connected" else None


def _keep(row: PinRow, progress: _Progress) -> None:
    earlier = progress.rows.get(row.point)
    if earlier is None:
        progress.rows[row.point] = row
        return
    severity = (
        Severity.NOTE if (earlier.good, earlier.name) == (row.good, row.name) else (Severity.ERROR)
    )
    what = f"{row.point} is there twice; line {earlier.line} is kept"
    where = Where(progress.source, row.line, name=row.point)
    progress.findings.append(Finding(what, where, "delete one of the two lines", severity))
