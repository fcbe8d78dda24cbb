"""Commands that correct the record by adding to it."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from nextprobe.cli.bench import answer_recorded, entered_again
from nextprobe.cli.options import FileOption, HomeOption, JobOption, JsonOption
from nextprobe.cli.session import Session

Number = Annotated[int, typer.Argument(help="Number of the event, as 'show' lists it.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(correct)
    app.command()(withdraw)


def correct(
    event: Number,
    result: Annotated[
        list[str] | None, typer.Argument(help="What it should have said; PIN=VALUE … for many.")
    ] = None,
    *,
    source: FileOption = None,
    device: Annotated[str | None, typer.Option(help="Of the intake.")] = None,
    complaint: Annotated[str | None, typer.Option(help="Of the intake.")] = None,
    says: Annotated[str | None, typer.Option(help="Of the intake.")] = None,
    history: Annotated[list[str] | None, typer.Option(help="Of the intake.")] = None,
    may_wipe: Annotated[bool | None, typer.Option(help="Of the intake.")] = None,
    may_unpair: Annotated[bool | None, typer.Option(help="Of the intake.")] = None,
    ceiling: Annotated[float | None, typer.Option(help="Of the intake.")] = None,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what an event should have said; both stay in the record."""
    fields = {
        "device": device,
        "complaint": complaint,
        "says": says,
        "history": history or None,
        "may_wipe": may_wipe,
        "may_unpair": may_unpair,
        "ceiling": ceiling,
    }
    changes: dict[str, Any] = {name: given for name, given in fields.items() if given is not None}
    session = Session(home, job, as_json)
    opened = session.job()
    entered = entered_again(result or [], source)
    answer_recorded(session, opened, opened.correct(event, entered, **changes))


def withdraw(
    event: Number,
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take an event out of the account; it stays in the record."""
    session = Session(home, job, as_json)
    opened = session.job()
    answer_recorded(session, opened, opened.withdraw(event))
