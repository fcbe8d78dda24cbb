"""Commands that say why."""

from __future__ import annotations

from typing import Annotated

import typer

from nextprobe.cli.options import HomeOption, JobOption, JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import MisuseError


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(suspects)
    app.command()(why)


def suspects(
    *,
    most: Annotated[int, typer.Option("--most", "-n", min=1, help="How many.")] = 5,
    reasons: Annotated[bool, typer.Option(help="Show what moved each.")] = True,
    why: Annotated[
        str,
        typer.Option(
            "--why",
            help="One suspect, by key, title or place: all that raised and lowered it.",
        ),
    ] = "",
    about: Annotated[
        str,
        typer.Option(
            "--about",
            help="With --why: an entry's number, or words of it, split by rival.",
        ),
    ] = "",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the suspects, and what moved them; or say what the odds of one are made of."""
    from nextprobe.cli import reckoning_tables, tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    if about and not why:
        raise MisuseError("--about splits the evidence for one suspect: name it with --why")
    opened = session.job()
    if why:
        reckoned = opened.why_suspect(why, about)
        data = {"job": opened.job_id, "reckoning": reckoned}
        session.answer(data, reckoning_tables.reckoning(reckoned))
        return
    found, said = opened.suspects(most, reasons or as_json), opened.remarks()
    shown = [*tables.suspects(found, reasons), *tables.remarks(said)]
    session.answer({"job": opened.job_id, "suspects": found, "remarks": said}, shown)


def why(
    step: Annotated[
        str, typer.Argument(help="Id of a step; the recommended one if left out.")
    ] = "",
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say why a step: its price, what each outcome would mean, what it can not tell apart.

    Why a suspect is one, 'suspects --why' says.
    """
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found = opened.why(step)
    shown = tables.explanation(found, opened.knowledge.pack.costs.currency)
    session.answer({"job": opened.job_id, "explanation": found}, shown)
