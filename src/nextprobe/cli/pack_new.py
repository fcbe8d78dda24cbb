"""The command that drafts a pack folder."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.loading import load_board
from nextprobe.cli.options import JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import DataError, Finding, MisuseError, Where

if TYPE_CHECKING:
    from nextprobe.board import Board
    from nextprobe.packs import FunctionClass
    from nextprobe.packs.draft_functions import Proposal

DEVICE = "device.yaml"
_TYPED = {".txt": "chains.txt", ".chains": "chains.txt", ".csv": "pins.csv"}
"""What a pack calls the files that people type."""


def new(
    file: Annotated[Path | None, typer.Argument(help="Board file; none for the smallest.")] = None,
    *,
    name: Annotated[str, typer.Option(help="What the device is called.")] = "",
    function: Annotated[str, typer.Option(help="The one function of the pack.")] = "",
    kind: Annotated[str, typer.Option("--class", help="Its class: camera, touch, power, …")] = "",
    connector: Annotated[
        str | None, typer.Option(help="The connector that the function hangs on.")
    ] = None,
    into: Annotated[Path | None, typer.Option(help="Folder to write; must not exist.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Draft a pack: from a board file with every guess marked, or the smallest one."""
    from nextprobe.cli.tables import line  # noqa: PLC0415
    from nextprobe.packs.draft import draft_text, smallest_text  # noqa: PLC0415

    called = name or (file.stem if file else "")
    if not called:
        raise MisuseError("give a board file, or a name with --name")
    folder = into or Path(_slug(called))
    if folder.exists():
        raise MisuseError(f"{folder} is there already; name another folder with --into")
    stated = _kind(kind, function)
    findings: tuple[Finding, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    if file is None:
        if connector:
            raise MisuseError("a connector needs a board file: nextprobe pack new FILE")
        word = stated.value if stated else "power"
        text = smallest_text(called, function or word, word)
    else:
        board, findings = load_board(file)
        proposals = _proposals(board, function, stated, connector)
        text = draft_text(called, proposals, file.name)
    _write(folder, text, file)
    rows = [_row(item) for item in proposals]
    shown = [line(f"drafted {folder}: check every guess in {folder / DEVICE}, then:")]
    shown.append(line(f"nextprobe pack check {folder}", 2))
    shown += [line(f"{row['name']}: {row['class']} at {row['connector']}", 2) for row in rows]
    answer = {"folder": str(folder), "functions": rows}
    Session(as_json=as_json).answer({"pack": answer}, shown, findings)


def _kind(kind: str, function: str) -> FunctionClass | None:
    from nextprobe.packs import FunctionClass  # noqa: PLC0415
    from nextprobe.packs.advice import suggestion  # noqa: PLC0415

    words = [each.value for each in FunctionClass]
    if not kind:
        if function in words:
            return FunctionClass(function)
        if function:
            raise MisuseError(f"say with --class what {function} is: {', '.join(words)}")
        return None
    if kind not in words:
        raise MisuseError(f"'{kind}' is no class of function: {suggestion(kind, words)}")
    return FunctionClass(kind)


def _proposals(
    board: Board, function: str, kind: FunctionClass | None, connector: str | None
) -> tuple[Proposal, ...]:
    from nextprobe.board import PartKind, understand  # noqa: PLC0415
    from nextprobe.packs.draft_functions import propose, propose_functions  # noqa: PLC0415

    known = understand(board).board
    if connector is not None:
        part = known.by_reference.get(connector)
        if part is None or part.kind is not PartKind.CONNECTOR:
            raise MisuseError(f"{known.name} has no connector {connector}")
    guessed = propose_functions(known)
    if kind is None:
        return tuple(each for each in guessed if connector in (None, each.connector)) or guessed
    if connector is not None:
        return (propose(known, function or kind.value, kind, connector),)
    alike = next((each for each in guessed if each.kind is kind), None)
    place, reason = (alike.connector, alike.reasons.get("class", "")) if alike else (None, "")
    return (propose(known, function or kind.value, kind, place, reason),)


def _write(folder: Path, text: str, board: Path | None) -> None:
    try:
        folder.mkdir(parents=True)
        (folder / DEVICE).write_text(text, "utf-8")
        if board is not None:
            ending = board.suffix.lower()
            shutil.copyfile(board, folder / _TYPED.get(ending, f"board{ending}"))
    except OSError as error:
        what = f"can not be written: {error.strerror}"
        raise DataError([Finding(what, Where(str(folder)))]) from error


def _row(item: Proposal) -> dict[str, object]:
    return {
        "name": item.name,
        "class": item.kind.value,
        "connector": item.connector,
        "chips": item.chips,
        "rails": item.rails,
        "guesses": item.reasons,
    }


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "pack"
