"""Temporary folders that belong to a running server; those of one that was killed are removed.

A lock on a file in the folder tells whether its server lives: the system lets go of it however that
ends, and no other process can be taken for it. Where there are no such locks nothing is removed.
"""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

_NAME = "held"


class HeldFolder:
    """A new temporary folder, held until it is removed or the process ends.

    Parameters
    ----------
    prefix : str
        What its name begins with.
    """

    def __init__(self, prefix: str) -> None:
        self.path = Path(tempfile.mkdtemp(prefix=prefix))
        draft = self.path / f"{_NAME}.new"
        self._line = os.open(draft, os.O_RDWR | os.O_CREAT, 0o600)
        _lock(self._line)
        # It gets its name once it is locked: nobody may find it free meanwhile.
        draft.replace(self.path / _NAME)

    def remove(self) -> None:
        """Remove it with all that is in it."""
        with suppress(OSError):
            os.close(self._line)
        shutil.rmtree(self.path, ignore_errors=True)


def remove_left(prefix: str) -> tuple[Path, ...]:
    """Remove folders of ours that nobody holds any more, and return them."""
    place = Path(tempfile.gettempdir())
    left = tuple(path for path in sorted(place.glob(f"{prefix}*")) if _is_left(path))
    for path in left:
        shutil.rmtree(path, ignore_errors=True)
    return left


def _is_left(folder: Path) -> bool:
    """Tell whether a folder is of this user, and was held by somebody who is gone."""
    try:
        about = folder.lstat()
        if not stat.S_ISDIR(about.st_mode) or not _is_ours(about):
            return False
        line = os.open(folder / _NAME, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
    except OSError:
        return False
    try:
        return _lock(line)
    finally:
        os.close(line)


def _is_ours(about: os.stat_result) -> bool:
    return hasattr(os, "getuid") and about.st_uid == os.getuid()


def _lock(line: int) -> bool:
    """Lock an open file; tell whether that was possible."""
    try:
        from fcntl import LOCK_EX, LOCK_NB, flock  # noqa: PLC0415

        flock(line, LOCK_EX | LOCK_NB)
    except (ImportError, OSError):
        return False
    return True
