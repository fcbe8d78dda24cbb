"""A board from whatever file or folder it is in, with progress for large ones."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from nextprobe.board import Board
from nextprobe.errors import DataError, Finding, MisuseError

Progress = Callable[[float], None]

_LARGE = 2_000_000
"""Files from this size on take long enough to say so [bytes]."""


def load_board(path: Path) -> tuple[Board, tuple[Finding, ...]]:
    """Read a board file or the board of a pack folder.

    Raises
    ------
    MisuseError
        If there is no such file, or the pack has no board.
    DataError
        If nothing could be read from it.
    """
    if not path.exists():
        raise MisuseError(f"there is no file {path}")
    board, findings = _read(path)
    if board is None:
        if not findings:
            raise MisuseError(f"the pack {path} has no board")
        raise DataError(findings)
    return board, findings


def _read(path: Path) -> tuple[Board | None, tuple[Finding, ...]]:
    if path.is_dir():
        from nextprobe.readers.pack_folder import read_pack_folder  # noqa: PLC0415

        contents, found = read_pack_folder(path)
        return (contents.board if contents else None), found
    from nextprobe.readers.board_file import read_board_file  # noqa: PLC0415

    with _progress(path) as progress:
        read, found = read_board_file(path, progress)
    return read, found


@contextmanager
def _progress(path: Path) -> Iterator[Progress | None]:
    """Show how far a large file is read, to a person and on the terminal only."""
    if path.stat().st_size < _LARGE or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import Progress as Bar  # noqa: PLC0415

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"reading {path.name}", total=1.0)
        yield lambda share: bar.update(task, completed=share)
