"""Entry point: finds the command, runs it, and says what went wrong without a traceback.

Exit codes: 0 done; 1 a finding (bad data, a store that can not be used; the message says where),
also where the rest was recorded; 2 misuse (unknown step, job or option).
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from nextprobe import __version__
from nextprobe.cli.trouble import CommandLineProblem, report, report_usage
from nextprobe.errors import MisuseError, NextprobeError

DONE, FOUND, MISUSED = 0, 1, 2

COMMANDS = (
    "jobs",
    "bench",
    "board",
    "chip",
    "reasons",
    "amend",
    "packs",
    "good",
    "demo",
    "rehearse",
    "testability",
    "serve",
)
"""Modules of commands, in the order of the help; each has ``register(app)``."""


def application() -> typer.Typer:
    """Return the application with all its commands."""
    app = typer.Typer(
        name="nextprobe",
        help="A workbench for board-level repair of handheld electronics.",
        epilog="Exit codes: 0 done, 1 a finding (the message says where), 2 misuse.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_root)
    for name in COMMANDS:
        import_module(f"nextprobe.cli.{name}").register(app)
    return app


def _say_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"nextprobe {__version__}")
        raise typer.Exit


def _root(
    _version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_say_version, is_eager=True, help="Say which version this is."
        ),
    ] = False,
) -> None:
    pass


def main(arguments: Sequence[str]) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str
        Of the command line, without the name of the program.

    Returns
    -------
    int
        The exit code.
    """
    as_json = "--json" in arguments
    try:
        code = application()(args=list(arguments), prog_name="nextprobe", standalone_mode=False)
    except CommandLineProblem as problem:
        report_usage(problem, as_json)
        return MISUSED
    except (KeyboardInterrupt, typer.Abort):
        return FOUND
    except NextprobeError as error:
        report(error, as_json)
        return MISUSED if isinstance(error, MisuseError) else FOUND
    return code if isinstance(code, int) else DONE


def run() -> None:
    """Run the command that the process was started with."""
    # The matrices here are small: threads would only wait for each other.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    sys.exit(main(sys.argv[1:]))
