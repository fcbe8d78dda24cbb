"""Options that many commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]
HomeOption = Annotated[
    Path | None,
    typer.Option(
        "--home",
        help="Folder of jobs; NEXTPROBE_HOME or the usual place of the system if left out.",
        show_default=False,
    ),
]
JobOption = Annotated[
    str | None,
    typer.Option("--job", "-j", help="Which job; the last one used if left out."),
]
ModeOption = Annotated[
    str,
    typer.Option("--mode", help="What the meter is set to: diode, ohms, low-ohms, …"),
]
FileOption = Annotated[
    str | None,
    typer.Option("--from", help="Read the text from a file; - for standard input."),
]
ConnectorOption = Annotated[
    str, typer.Option("--connector", "-c", help="Connector of pins written without one.")
]


def look_aheads() -> int:
    """Return how far to look ahead if nobody says; imported late, to keep the start fast."""
    from nextprobe.diagnosis import LOOK_AHEADS  # noqa: PLC0415

    return LOOK_AHEADS


EffortOption = Annotated[
    int,
    typer.Option(min=0, max=200, help="How far to look ahead.", default_factory=look_aheads),
]
