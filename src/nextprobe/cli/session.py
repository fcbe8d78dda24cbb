"""Which job a command means, and how it answers."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from nextprobe.cli.trouble import finding_json, say_finding
from nextprobe.errors import DataError, Finding, MisuseError, Severity, StoreError, Where

if TYPE_CHECKING:
    from rich.console import RenderableType

    from nextprobe.diagnosis import FaultTables
    from nextprobe.job import Job
    from nextprobe.store import SqliteStore

CURRENT = "current-job"
_WIDEST = 100


@dataclass(frozen=True)
class Session:
    """One call of the program.

    Parameters
    ----------
    home : Path or None
        Folder of jobs.
    name : str or None
        Which job; None for the last one used.
    as_json : bool
        Whether to answer for machines.
    """

    home: Path | None = None
    name: str | None = None
    as_json: bool = False

    def store(self) -> SqliteStore:
        """Open the store of jobs."""
        from nextprobe.store import open_store  # noqa: PLC0415

        return open_store(self.home)

    def tables(self) -> FaultTables:
        """Return the fault tables kept beside the jobs."""
        from nextprobe.diagnosis import FaultTables  # noqa: PLC0415
        from nextprobe.store import open_tables  # noqa: PLC0415

        return FaultTables(open_tables(self.home))

    def job(self) -> Job:
        """Open the job that is meant.

        Raises
        ------
        MisuseError
            If there is no such job, or none was used before.
        """
        from nextprobe.job import Job  # noqa: PLC0415

        store = self.store()
        name = self.name or current_job(store.path.parent)
        if name is None:
            raise MisuseError("no job has been used here yet: start one, or name one with --job")
        job = Job.open(name, store, self.tables())
        remember(store.path.parent, name)
        return job

    def answer(
        self,
        data: Mapping[str, object],
        shown: Iterable[RenderableType],
        findings: Iterable[Finding] = (),
    ) -> None:
        """Print an answer, with findings below it.

        Raises
        ------
        typer.Exit
            With code 1 if one of the findings is an error.
        """
        found = list(findings)
        if self.as_json:
            listed = [finding_json(finding) for finding in found]
            print_json({**data, "findings": listed})
        else:
            _show(shown)
            for finding in found:
                print(say_finding(finding), file=sys.stderr)
        if any(finding.severity is Severity.ERROR for finding in found):
            raise typer.Exit(1)


def print_json(data: Mapping[str, object]) -> None:
    """Print plain JSON."""
    from nextprobe.workbench.plain import plain  # noqa: PLC0415

    print(json.dumps(plain(data), ensure_ascii=False, indent=2))


def _show(shown: Iterable[RenderableType]) -> None:
    from rich.console import Console  # noqa: PLC0415

    width = min(Console().width, _WIDEST)
    console = Console(highlight=False, markup=False, emoji=False, width=width)
    for item in shown:
        console.print(item)


def current_job(home: Path) -> str | None:
    """Return the job that was used last in a folder of jobs."""
    try:
        return (home / CURRENT).read_text("utf-8").strip() or None
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StoreError(f"{home / CURRENT}: {error.strerror}") from error


def remember(home: Path, name: str) -> None:
    """Note which job was used last."""
    if current_job(home) == name:
        return
    draft = home / f"{CURRENT}.new"
    try:
        draft.write_text(f"{name}\n", "utf-8")
        draft.replace(home / CURRENT)
    except OSError as error:
        raise StoreError(f"{home / CURRENT}: {error.strerror}") from error


def text_from(source: str | None, words: Iterable[str] = ()) -> str:
    """Return the text that is meant: of a file, of standard input, or the words themselves.

    Raises
    ------
    DataError
        If the file can not be read.
    MisuseError
        If there is no text at all.
    """
    text = " ".join(words) if source is None else _read(source)
    if not text.strip():
        raise MisuseError("there is no text: give it, or name a file with --from (- for stdin)")
    return text


def _read(source: str) -> str:
    try:
        if source == "-":
            return sys.stdin.read()
        return Path(source).read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text in UTF-8"
        raise DataError([Finding(f"can not be read: {reason}", Where(source))]) from error
