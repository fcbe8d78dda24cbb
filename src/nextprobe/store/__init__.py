"""Keeping jobs: in one SQLite file per workshop, or in memory."""

from __future__ import annotations

from pathlib import Path

from nextprobe.store.folder import JOBS_FILE, default_folder, workshop_folder
from nextprobe.store.memory import MemoryStore
from nextprobe.store.sqlite import SqliteStore


def open_store(folder: Path | None = None) -> SqliteStore:
    """Open the jobs of a workshop, making folder and file if there are none.

    Raises
    ------
    StoreError
        If the folder or the file can not be used.
    """
    return SqliteStore(workshop_folder(folder) / JOBS_FILE)


__all__ = ["MemoryStore", "SqliteStore", "default_folder", "open_store", "workshop_folder"]
