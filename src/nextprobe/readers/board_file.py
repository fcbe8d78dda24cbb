"""A board from a file in any format that is read here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from nextprobe.board import Board, sketch_from_pinout
from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.chains import read_chains
from nextprobe.readers.kicad import Progress, read_kicad_board, read_kicad_netlist
from nextprobe.readers.pins import read_pins
from nextprobe.readers.text_file import read_text_file

MAX_BYTES = 500_000_000
_Result = tuple[Board | None, tuple[Finding, ...]]
_KICAD: dict[str, Callable[[str, str, Progress | None], _Result]] = {
    ".kicad_pcb": read_kicad_board,
    ".net": read_kicad_netlist,
}
_OPENINGS = {"(kicad_pcb": ".kicad_pcb", "(export": ".net"}
_CHAINS, _PINS = (".txt", ".chains"), (".csv", ".tsv")
READABLE = (*_KICAD, *_CHAINS, *_PINS)


def read_board_file(path: Path | str, progress: Progress | None = None) -> _Result:
    """Read a board: a KiCad board or netlist, chains, or a pinout.

    What a file holds is told by its beginning, then by the ending of its name.

    Parameters
    ----------
    path : Path or str
        The file.
    progress : callable, optional
        Told the share of a large file that has been read [1].

    Returns
    -------
    (Board or None, tuple of Finding)
        None if the file gives no board; findings name the file. Nets have the names that the
        file gives them.
    """
    file = Path(path)
    ending = file.suffix.lower()
    if ending in (*_CHAINS, *_PINS) and _opening(file) is None:
        return _typed(file, ending)
    text, found = read_large_text(file)
    if text is None:
        return None, found
    ending = _opening_of(text) or ending
    reader = _KICAD.get(ending)
    if reader is None:
        what = f"boards in this format ({ending or 'no ending'}) are not read"
        remedy = f"choose a file that ends in one of {', '.join(READABLE)}"
        return None, (*found, Finding(what, Where(file.name), remedy))
    board, wrong = reader(text, file.name, progress)
    return board, (*found, *wrong)


def _typed(file: Path, ending: str) -> _Result:
    """Read what people type."""
    content = read_text_file(file)
    if content.text is None:
        return None, content.findings or (_missing(file),)
    if ending in _CHAINS:
        board, found = read_chains(content.text, file.name)
        return (board if board.parts else None), found
    table, found = read_pins(content.text, source=file.name)
    return (sketch_from_pinout(table, file.stem) if table.rows else None), found


def read_large_text(file: Path) -> tuple[str | None, tuple[Finding, ...]]:
    """Read a text of any usual size; bytes that are no UTF-8 are read as Latin-1 and reported."""
    where = Where(file.name)
    try:
        if not file.exists():
            return None, (_missing(file),)
        if not file.is_file():
            return None, (Finding("this is not a file", where, "choose a file"),)
        if file.stat().st_size > MAX_BYTES:
            what = f"the file has {file.stat().st_size} bytes, more than {MAX_BYTES}"
            return None, (Finding(what, where, "leave out what is not needed"),)
        data = file.read_bytes()
    except OSError as error:
        what = f"the file can not be read: {error.strerror}"
        return None, (Finding(what, where, "check its rights"),)
    return _decoded(data, where)


def _decoded(data: bytes, where: Where) -> tuple[str | None, tuple[Finding, ...]]:
    if b"\0" in data[:4096]:
        return None, (Finding("this is no text", where, "choose the file of a board"),)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = "some letters are not in UTF-8 and may be read wrong"
        finding = Finding(
            what, replace(where, line=line), "save the file as UTF-8", Severity.WARNING
        )
        return data.decode("latin-1"), (finding,)


def _missing(file: Path) -> Finding:
    return Finding("there is no such file", Where(str(file)), "check the name")


def _opening(file: Path) -> str | None:
    try:
        with file.open("rb") as stream:
            return _opening_of(stream.read(200).decode("latin-1"))
    except OSError:
        return None


def _opening_of(text: str) -> str | None:
    start = text[:200].lstrip("\ufeffï»¿ \t\r\n")
    return next((ending for word, ending in _OPENINGS.items() if start.startswith(word)), None)
