"""Where the jobs of a workshop live."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from nextprobe.errors import StoreError

HOME_VARIABLE = "NEXTPROBE_HOME"
JOBS_FILE = "jobs.db"
TABLES_FOLDER = Path("cache", "tables")


def default_folder(
    environment: Mapping[str, str] = os.environ, platform: str = sys.platform
) -> Path:
    """Folder that is meant when none is named.

    ``NEXTPROBE_HOME`` if set, otherwise the place that the platform keeps for the data of
    programs: ``~/Library/Application Support`` on macOS, ``%LOCALAPPDATA%`` on Windows, elsewhere
    ``$XDG_DATA_HOME`` or ``~/.local/share`` (XDG Base Directory Specification 0.8, which has
    relative paths ignored).

    Raises
    ------
    StoreError
        If the user has no home.
    """
    if named := environment.get(HOME_VARIABLE):
        return Path(named).expanduser()
    if platform == "darwin":
        return _home() / "Library" / "Application Support" / "nextprobe"
    variable = "LOCALAPPDATA" if platform == "win32" else "XDG_DATA_HOME"
    base = Path(environment.get(variable, ""))
    if not base.is_absolute():
        base = _home() / ("AppData/Local" if platform == "win32" else ".local/share")
    return base / "nextprobe"


def workshop_folder(folder: Path | None = None) -> Path:
    """Make sure of a folder for jobs, readable by its owner only if it is made here.

    Raises
    ------
    StoreError
        If it can not be made or written to.
    """
    place = default_folder() if folder is None else folder
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=place).close()
    except OSError as error:
        raise StoreError(
            f"{place}: jobs can not be kept there ({error.strerror}): choose another folder with "
            f"{HOME_VARIABLE}, or change its permissions"
        ) from error
    return place


def _home() -> Path:
    try:
        return Path.home()
    except RuntimeError as error:
        raise StoreError(f"this user has no home folder: set {HOME_VARIABLE}") from error
