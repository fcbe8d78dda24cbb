"""Commands that teach the board, and compare it with one that works."""

from __future__ import annotations

from typing import Annotated

import typer

from nextprobe.cli import board_file
from nextprobe.cli.bench import answer_recorded
from nextprobe.cli.options import (
    ConnectorOption,
    FileOption,
    HomeOption,
    JobOption,
    JsonOption,
    ModeOption,
)
from nextprobe.cli.session import Session, text_from


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    board_file.register(app)
    for command in (pinout, chain, role, expect, compare):
        app.command()(command)


def pinout(
    source: Annotated[str, typer.Argument(help="File with a pin a line; - for stdin.")] = "-",
    *,
    connector: ConnectorOption = "J1",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Add a pinout as people type it: 12 CAM_SDA .452."""
    text = text_from(source)
    session = Session(home, job, as_json)
    opened = session.job()
    answer_recorded(session, opened, opened.add_pinout(text, connector))


def chain(
    text: Annotated[
        list[str] | None, typer.Argument(help="Chains, as in 'J4.12 > C87 100n > U3.AB4'.")
    ] = None,
    *,
    source: FileOption = None,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Add chains, each quoted, or a file of them: what is joined to what."""
    words = text or []
    lines = any(" " in word for word in words)
    typed = text_from(source, ["\n".join(words)] if lines else words)
    session = Session(home, job, as_json)
    opened = session.job()
    answer_recorded(session, opened, opened.add_chains(typed))


def role(
    point: Annotated[str, typer.Argument(help="Pin or net.")],
    name: Annotated[str, typer.Argument(help="What the net is for: rail, lane, open-drain, …")],
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what a net is for."""
    session = Session(home, job, as_json)
    opened = session.job()
    answer_recorded(session, opened, opened.set_role(point, name))


def expect(
    point: Annotated[str, typer.Argument(help="Pin or net, as in J4.12.")],
    *,
    mode: ModeOption = "diode",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what the meter should show at a point."""
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found = opened.expected(point, mode)
    session.answer({"job": opened.job_id, "expected": found}, tables.expected(found))


def compare(
    *,
    most: Annotated[int, typer.Option("--most", "-n", min=1, help="How many points.")] = 5,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compare the patient with a donor or known-good readings, worst first."""
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found = opened.differences(most)
    session.answer({"job": opened.job_id, "differences": found}, tables.differences(found))
