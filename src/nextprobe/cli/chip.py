"""The command that shows what an IBIS file says of a chip's clamps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import DataError, Finding, MisuseError

if TYPE_CHECKING:
    from nextprobe.readers.ibis import Component, IbisFile


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command("chip")(show_chip)


def show_chip(
    file: Annotated[Path, typer.Argument(help="IBIS file (.ibs) of the chip's maker.")],
    *,
    component: Annotated[
        str, typer.Option(help="Which component, where the file has several.")
    ] = "",
    as_json: JsonOption = False,
) -> None:
    """Show what each pin's clamps drop, by the chip's own IBIS file."""
    from nextprobe.cli import chip_tables  # noqa: PLC0415

    content, findings = _read(file)
    chosen = _component(content, component)
    rows = chip_tables.pin_rows(content, chosen)
    data = {"chip": chip_tables.summary(file, content, chosen), "pins": rows}
    shown = chip_tables.shown(content, chosen, rows)
    Session(as_json=as_json).answer(data, shown, findings)


def _read(file: Path) -> tuple[IbisFile, tuple[Finding, ...]]:
    from nextprobe.readers.ibis import read_ibis_file  # noqa: PLC0415

    if not file.exists():
        raise MisuseError(f"there is no file {file}")
    content, findings = read_ibis_file(file)
    if content is None:
        raise DataError(findings)
    return content, findings


def _component(content: IbisFile, name: str) -> Component:
    names = ", ".join(each.name for each in content.components)
    if not names:
        raise MisuseError("the file describes no component, so there are no pins to show")
    found = content.component(name)
    if found is not None:
        return found
    if name:
        raise MisuseError(f"the file has no component '{name}'; it has: {names}")
    raise MisuseError(f"the file has several components: name one with --component: {names}")
