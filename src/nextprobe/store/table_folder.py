"""Fault tables in a folder, so that the next call of the program need not build them again."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from nextprobe.circuit import FaultTable
from nextprobe.errors import MisuseError
from nextprobe.store.table_file import table_bytes, table_from_bytes

MOST_BYTES = 64 * 2**20
SUFFIX = ".table"


class TableFolder:
    """One file for each table; those that have not been used for longest are dropped.

    A file that is damaged, foreign or outdated counts as not there, and so does a folder that
    can not be used. Several programs may use one folder at a time.

    Parameters
    ----------
    folder : Path
        Made when the first table is saved.
    most_bytes : int
        How much its files may take together [bytes].
    """

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self._most_bytes = most_bytes

    def load(self, key: str) -> FaultTable | None:
        """Return the table kept under `key`; None if there is none that is whole and current."""
        path = self._path(key)
        try:
            content = path.read_bytes()
        except OSError:
            return None
        with suppress(OSError):
            os.utime(path)
        return table_from_bytes(content, key)

    def save(self, key: str, table: FaultTable) -> None:
        """Keep a table under `key`, if the folder can be used and the table is not too large."""
        content = table_bytes(key, table)
        if len(content) > self._most_bytes:
            return
        with suppress(OSError):
            make_private(self.folder)
            self._replace(self._path(key), content)
            self._drop_oldest()

    def _path(self, key: str) -> Path:
        if not key.isalnum():
            raise MisuseError(f"{key!r} can not be the key of a table: use letters and digits")
        return self.folder / f"{key}{SUFFIX}"

    def _replace(self, path: Path, content: bytes) -> None:
        """Put a whole file in place; whoever reads meanwhile sees the old one or the new one."""
        handle, name = tempfile.mkstemp(SUFFIX, ".draft-", self.folder)
        draft = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            draft.replace(path)
        except BaseException:
            draft.unlink(missing_ok=True)
            raise

    def _drop_oldest(self) -> None:
        files = sorted(self._files(), reverse=True)
        total = 0
        for _, size, path in files:
            total += size
            if total > self._most_bytes:
                with suppress(OSError):
                    path.unlink()

    def _files(self) -> Iterator[tuple[int, int, Path]]:
        """Yield time of last use [ns], size [bytes] and path of each file, drafts included."""
        for path in self.folder.glob(f"*{SUFFIX}"):
            with suppress(FileNotFoundError):  # another program was faster
                found = path.stat()
                yield found.st_mtime_ns, found.st_size, path


def make_private(folder: Path) -> None:
    """Make a folder and those above it; those that are made are for their owner only."""
    for place in (*reversed(folder.parents), folder):
        if not place.is_dir():
            place.mkdir(mode=0o700, exist_ok=True)
