"""A job at a glance, and its log, for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from nextprobe.cli.say import say_money
from nextprobe.cli.tables import heading, line, table

if TYPE_CHECKING:
    from nextprobe.workbench.overview import LogLine, Overview

_WORKING = {True: "works", False: "fails", None: "not checked since the last change"}


def overview_shown(
    job: str, found: Overview, entries: Sequence[LogLine]
) -> Iterator[RenderableType]:
    """Show where a job stands, and its log."""
    yield heading(f"{job}: {found.device}, {found.complaint}")
    if found.says:
        yield line(f'the customer says: "{found.says}"', 2)
    if found.history:
        yield line(f"what happened: {', '.join(found.history)}", 2)
    yield line(f"limits: {_limits(found)}", 2)
    yield line(f"what is known: {found.knowledge}", 2)
    yield line(f"pack: {found.pack}", 2)
    others = [f"{instance} {slot}" for slot, instance in found.fitted.items()
              if instance != "original"]  # fmt: skip
    yield line(f"fitted: {', '.join(others) if others else 'all originals'}", 2)
    yield line(f"device: {found.opened}; {found.complaint}: {_WORKING[found.working]}", 2)
    if found.ending:
        yield line(f"ended: {found.ending}", 2)
    yield _log(entries)


def _limits(found: Overview) -> str:
    wipe = "data may be lost" if found.may_wipe else "data must be kept"
    pair = "pairings may be lost" if found.may_unpair else "pairings must be kept"
    most = (
        "no ceiling"
        if found.ceiling is None
        else f"at most {say_money(found.ceiling, found.currency)}"
    )
    return f"{wipe}, {pair}, {most}"


def _log(entries: Sequence[LogLine]) -> RenderableType:
    shown = table("no", "time", "what", "", numbers=(0,))
    for entry in entries:
        when = datetime.fromtimestamp(entry.time).strftime("%d.%m. %H:%M")
        said = "; ".join(entry.said) or entry.kind
        shown.add_row(str(entry.event), when, Text(said), _state(entry))
    return shown


def _state(entry: LogLine) -> str:
    of = f"in place of {entry.supersedes}" if entry.supersedes is not None else ""
    return of if entry.stands or entry.kind == "withdrawn" else f"{of} no longer counts".strip()
