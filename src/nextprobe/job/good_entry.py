"""Readings of a known-good board as people type them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from nextprobe.board import GROUND, ZERO_CELSIUS, BenchSetup, Board, MeterMode
from nextprobe.errors import DataError, Finding, MisuseError, Where
from nextprobe.job.entry_text import touches_in
from nextprobe.packs import Pack
from nextprobe.reference.good_board import Value
from nextprobe.workbench.intake import require_known
from nextprobe.workbench.meter_entry import entered_value, known_point


def typed_readings(
    text: str, connector: str, mode: MeterMode, board: Board | None, source: str = "readings"
) -> tuple[tuple[tuple[str, Value], ...], tuple[Finding, ...]]:
    """Return point and value of each line, and what is wrong with the others.

    Parameters
    ----------
    text : str
        ``J4.12 452`` or ``J4.12=452`` a line; in diode mode a pinout with readings will do.
    connector : str
        The connector of pins that are written without one.
    mode : MeterMode
    board : Board or None
        Points that this board lacks are findings.
    source : str
        What findings call the text.

    Raises
    ------
    DataError
        If there is no reading in it.
    """
    touches, findings = touches_in(text, connector, mode, source)
    found = list(findings)
    values: dict[str, Value] = {}
    for written, entered in touches:
        point, unknown = known_point(written, board)
        if board is not None and unknown is not None:
            what = f"{board.name} has no pin or net {written}; it is left out"
            found.append(Finding(what, Where(source, name=written), "write a pin as in J4.12"))
            continue
        if point in values:
            what = f"{point} is given twice; the second is left out"
            found.append(Finding(what, Where(source, name=point), "keep one of them"))
            continue
        try:
            values[point] = entered_value(entered, mode, point)
        except DataError as error:
            found += [replace(each, where=Where(source, name=point)) for each in error.findings]
    if not values:
        raise DataError(found)
    return tuple(values.items()), tuple(found)


def bench_setup(
    pack: Pack,
    board: Board | None,
    mode: MeterMode,
    *,
    plugged: Sequence[str] = (),
    clamped: str = GROUND,
    negative_clamped: bool = False,
    celsius: float | None = None,
) -> BenchSetup:
    """Return a set-up in the words of a pack.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    mode : MeterMode
    plugged : sequence of str
        Modules that were plugged in.
    clamped : str
        Pin or net of the lead that stayed where it was.
    negative_clamped : bool
        Whether that was the negative lead.
    celsius : float or None
        Of the board [°C]; room temperature if left out.

    Raises
    ------
    MisuseError
        If there is no such module or point.
    SettingError
        If no board is measured at such a temperature.
    """
    for name in plugged:
        require_known(name, pack.modules, "a module of this device")
    if clamped != GROUND and board is not None and not board.has_point(clamped):
        raise MisuseError(f"{board.name} has no pin or net {clamped}")
    setup = BenchSetup(mode, clamped, not negative_clamped, frozenset(plugged))
    return setup if celsius is None else replace(setup, temperature=celsius + ZERO_CELSIUS)


def day(text: str) -> date | None:
    """Return a day; none if nothing is said.

    Raises
    ------
    MisuseError
        If there is no such day.
    """
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise MisuseError(f"'{text}' is no day: write it as in 2026-11-20") from None
