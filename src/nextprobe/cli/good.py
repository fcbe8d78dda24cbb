"""Commands for known-good boards: keeping them, and what they say of one more."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.good_entry import Pack, add, correct, keep, read_table, withdraw
from nextprobe.cli.options import HomeOption, JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import MisuseError

if TYPE_CHECKING:
    from nextprobe.job.good_shelf import GoodShelf


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    good = typer.Typer(
        no_args_is_help=True, help="Keep boards that are known to work, and see what they say."
    )
    good.callback()(lambda: None)
    for name, command in (
        ("add", add),
        ("import", read_table),
        ("keep", keep),
        ("list", list_boards),
        ("show", show),
        ("correct", correct),
        ("withdraw", withdraw),
    ):
        good.command(name)(command)
    app.add_typer(good, name="good")


def list_boards(pack: Pack, *, home: HomeOption = None, as_json: JsonOption = False) -> None:
    """List the boards that are kept of a device, and how well each fits the others."""
    from nextprobe.cli import good_tables  # noqa: PLC0415
    from nextprobe.job import good_data  # noqa: PLC0415

    shelf = _read(home, pack)
    rows = good_data.record_rows(shelf)
    data = {"device": shelf.device, "boards": rows, "misfits": good_data.misfit_rows(shelf)}
    shown = good_tables.records_shown(shelf, rows)
    Session(home, None, as_json).answer(
        data, shown, (*shelf.findings, *good_data.misfit_findings(shelf))
    )


def show(
    pack: Pack,
    point: Annotated[str, typer.Argument(help="Pin or net; all of them if left out.")] = "",
    *,
    mode: Annotated[str, typer.Option("--mode", help="In one meter mode only.")] = "",
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what one more good board should read, and how sure that is by now."""
    from nextprobe.cli import good_tables  # noqa: PLC0415
    from nextprobe.job import good_data  # noqa: PLC0415
    from nextprobe.workbench.meter_entry import known_point, mode_of  # noqa: PLC0415

    shelf = _read(home, pack)
    name = known_point(point, shelf.board)[0] if point else ""
    places = [
        place
        for place in shelf.points(mode_of(mode) if mode else None)
        if not point or place[0] in (name, point)
    ]
    if not places:
        where = f"of {point} " if point else ""
        raise MisuseError(f"nothing is known {where}from good boards of {shelf.device}")
    session = Session(home, None, as_json)
    if point:
        data = {
            "device": shelf.device,
            "points": [good_data.point_row(shelf, *place) for place in places],
        }
        session.answer(data, good_tables.points_shown(shelf, places), shelf.findings)
        return
    found = [shelf.summary(*place) for place in places]
    data = {"device": shelf.device, "points": [good_data.summary_row(each) for each in found]}
    shown = good_tables.summaries_shown(shelf, found)
    session.answer(data, shown, (*shelf.findings, *good_data.misfit_findings(shelf)))


def _read(home: Path | None, pack: str) -> GoodShelf:
    from nextprobe.job.good_shelf import good_shelf  # noqa: PLC0415
    from nextprobe.store import read_good_boards  # noqa: PLC0415

    return good_shelf(pack, read_good_boards(home))
