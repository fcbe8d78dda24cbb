"""Known-good boards as tables for people and rows for machines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from nextprobe.board import GROUND, ROOM_TEMPERATURE, ZERO_CELSIUS, BenchSetup, OverRange
from nextprobe.cli.say import say_share, say_value
from nextprobe.cli.tables import heading, line, table
from nextprobe.job.good_data import Row

if TYPE_CHECKING:
    from nextprobe.job.good_shelf import GoodShelf, PointSummary
    from nextprobe.reference import Fit, Tightness

Place = tuple[str, BenchSetup]

_LEGEND = (
    "here: boards kept here; pack: boards behind the pack's reading; u: standard uncertainty of "
    "one more board, meter included; OL: chance of over-range; (!): does not fit"
)


def say_bench(bench: BenchSetup) -> str:
    """Say how the bench stood, as far as it is not the usual way."""
    said = [f"{bench.mode.value} mode"]
    if bench.clamped != GROUND:
        said.append(f"lead on {bench.clamped}")
    if not bench.clamped_is_positive:
        said.append("negative lead clamped")
    said += [f"{name} plugged in" for name in sorted(bench.plugged)]
    said += [f"{name} removed" for name in sorted(bench.removed)]
    if bench.temperature != ROOM_TEMPERATURE:
        said.append(f"{bench.temperature - ZERO_CELSIUS:.0f} °C")
    return ", ".join(said)


def records_shown(shelf: GoodShelf, rows: Sequence[Row]) -> Iterator[RenderableType]:
    """Show the records of a device."""
    yield heading(f"Known-good boards of {shelf.device}")
    if not rows:
        yield line("none is kept here yet: 'nextprobe good add' keeps one", 2)
        return
    farthest = {fit.number: fit for fit in reversed(shelf.fits)}
    shown = table("no.", "board", "set-up", "readings", "measured", "source", "farthest off",
                  numbers=(0, 3))  # fmt: skip
    for record in shelf.boards.records:
        who = " ".join(
            word
            for word in (str(record.measured_on or ""), record.measured_by, record.meter)
            if word
        )
        shown.add_row(
            str(record.number),
            Text(record.label),
            say_bench(record.bench),
            str(len(record.readings)),
            Text(who),
            Text(record.source),
            Text(_say_fit(farthest.get(record.number))),
        )
    yield shown
    meters = sorted({record.meter for record in shelf.boards.records if record.meter})
    if len(meters) > 1:
        yield line(
            f"NOTE  {len(meters)} meters were used ({', '.join(meters)}): in diode mode their test "
            "currents may differ, and with them every reading"
        )


def _say_fit(fit: Fit | None) -> str:
    if fit is None:
        return "nothing to compare with"
    return f"{fit.point} {_off(fit)}"


def summaries_shown(shelf: GoodShelf, found: Sequence[PointSummary]) -> Iterator[RenderableType]:
    """Show what one more good board should read, point by point."""
    yield heading(f"What one more good {shelf.device} should read")
    for bench in dict.fromkeys(each.bench for each in found):
        yield line(say_bench(bench))
        shown = table("point", "here", "pack", "mean", "u", "95 %", "OL", numbers=(1, 2, 3, 4, 6))
        for each in (one for one in found if one.bench == bench):
            shown.add_row(
                Text(each.point),
                str(each.boards or ""),
                str(each.pack_boards or ""),
                *_number_cells(each.now, bench),
                say_share(each.now.over_range),
            )
        yield Padding(shown, (0, 0, 0, 2))
    yield line(_LEGEND)


def _number_cells(found: Tightness, bench: BenchSetup) -> tuple[str, str, str]:
    """Return mean, standard uncertainty and interval; nothing where over-range is expected."""
    if found.mean is None or found.over_range > 0.5:
        return "OL" if found.over_range > 0.5 else "", "", ""
    cells = [say_value(value or 0.0, bench.mode) for value in (found.mean, found.deviation)]
    low, high = (say_value(value or 0.0, bench.mode) for value in (found.low, found.high))
    return cells[0], cells[1], f"{low} to {high}"


def points_shown(shelf: GoodShelf, places: Iterable[Place]) -> Iterator[RenderableType]:
    """Show a point: what each board reads, and how the prediction tightened with them."""
    for point, bench in places:
        yield heading(f"{point} of {shelf.device}, {say_bench(bench)}")
        yield Padding(_readings(shelf, point, bench), (0, 0, 0, 2))
        yield line("with so many boards kept here, one more should read", 2)
        yield Padding(_by_number(shelf, point, bench), (0, 0, 0, 2))
        job = shelf.in_job(point, bench)
        if job is not None:
            sure = "" if job.deviation is None else (
                f", standard uncertainty {say_value(job.deviation, bench.mode)}"
            )  # fmt: skip
            good = say_value(job.value, bench.mode)
            yield line(f"a job started now expects {good}{sure}; it rests on {job.source}", 2)
        else:
            yield line("jobs expect readings to ground with nothing plugged in: not these", 2)


def _readings(shelf: GoodShelf, point: str, bench: BenchSetup) -> RenderableType:
    shown = table("board", "reads", "from the others", "source", numbers=(1, 2))
    fits = {fit.label: fit for fit in shelf.fits if (fit.point, fit.bench) == (point, bench)}
    row = shelf.row(point, bench)
    if row is not None:
        counted = f"pack ({row.boards} boards)" if row.boards > 1 else "pack (1 board)"
        shown.add_row(counted, say_value(row.value, bench.mode), "", Text(row.source))
    for record in shelf.boards.behind(point, bench).values():
        fit = fits.get(record.label)
        value = say_value(record.values[point], bench.mode)
        shown.add_row(Text(record.label), value, _off(fit), Text(record.source))
    return shown


def _off(fit: Fit | None) -> str:
    if fit is None:
        return ""
    if math.isinf(fit.score):
        return "another state (!)"
    if isinstance(fit.value, OverRange):
        return "alike"
    return f"{fit.score:+.1f} u (!)" if fit.is_odd else f"{fit.score:+.1f} u"


def _by_number(shelf: GoodShelf, point: str, bench: BenchSetup) -> RenderableType:
    shown = table("boards", "mean", "u", "95 %", "OL", "", numbers=(0, 1, 2, 4))
    for each in shelf.tightening(point, bench):
        if each.mean is None and each.over_range == 0.5:
            shown.add_row("0", "", "", "computed from the circuit alone", "", "")
            continue
        ahead = "if they read alike" if each.ahead else ""
        cells = _number_cells(each, bench)
        shown.add_row(str(each.boards), *cells, say_share(each.over_range), ahead)
    return shown
