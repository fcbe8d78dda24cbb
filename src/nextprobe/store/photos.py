"""Photos beside the jobs: files named by their content, written whole or not at all."""

from __future__ import annotations

import os
import re
import tempfile
from hashlib import sha256
from pathlib import Path

from nextprobe.errors import MisuseError, StoreError

PHOTOS_FOLDER = "photos"
_NAME = re.compile(r"[0-9a-f]{64}\.(jpg|png)")


class PhotoFolder:
    """Photos in a folder, each under the SHA-256 of its content.

    The same photo is kept once. Names are made here and checked before they touch the disk.

    Parameters
    ----------
    home : Path
        Folder of jobs.
    """

    def __init__(self, home: Path) -> None:
        self._folder = home / PHOTOS_FOLDER

    def keep(self, content: bytes, kind: str) -> str:
        """Keep a photo, and return its name; it is on disk when this returns.

        Parameters
        ----------
        content : bytes
        kind : str
            ``jpg`` or ``png``.

        Raises
        ------
        StoreError
            If it can not be kept.
        """
        name = f"{sha256(content).hexdigest()}.{kind}"
        path = self._path(name)
        if path.exists():
            return name
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle, draft = tempfile.mkstemp(".draft", dir=self._folder)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                    file.flush()
                    os.fsync(file.fileno())
                Path(draft).replace(path)
            except BaseException:
                Path(draft).unlink(missing_ok=True)
                raise
        except OSError as error:
            raise StoreError(f"{self._folder}: no photo can be kept ({error.strerror})") from error
        return name

    def read(self, name: str) -> bytes:
        """Return a photo.

        Raises
        ------
        MisuseError
            If there is none of that name.
        StoreError
            If it can not be read, or is damaged.
        """
        path = self._path(name)
        try:
            content = path.read_bytes()
        except FileNotFoundError:
            raise MisuseError(f"there is no photo {name}") from None
        except OSError as error:
            raise StoreError(f"{path}: the photo can not be read ({error.strerror})") from error
        if sha256(content).hexdigest() != path.stem:
            raise StoreError(f"{path}: the photo is damaged")
        return content

    def _path(self, name: str) -> Path:
        if not _NAME.fullmatch(name):
            raise MisuseError(f"there is no photo {name[:80]}")
        return self._folder / name
