"""Commands that say why."""

from __future__ import annotations

from typing import Annotated

import typer

from nextprobe.cli.options import HomeOption, JobOption, JsonOption
from nextprobe.cli.session import Session


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(suspects)
    app.command()(why)


def suspects(
    *,
    most: Annotated[int, typer.Option("--most", "-n", min=1, help="How many.")] = 5,
    reasons: Annotated[bool, typer.Option(help="Show what moved each.")] = True,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the suspects, and what moved them."""
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found, said = opened.suspects(most), opened.remarks()
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
    """Say why a step: its price, what each outcome would mean, what it can not tell apart."""
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found = opened.why(step)
    shown = tables.explanation(found, opened.knowledge.pack.costs.currency)
    session.answer({"job": opened.job_id, "explanation": found}, shown)
