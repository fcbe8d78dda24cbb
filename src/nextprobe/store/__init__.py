"""Keeping jobs in one SQLite file per workshop or in memory.

Known-good boards are in a second file beside it, fault tables in a folder.
"""

from __future__ import annotations

from pathlib import Path

from nextprobe.store.folder import JOBS_FILE, TABLES_FOLDER, default_folder, workshop_folder
from nextprobe.store.good_boards import GoodBoardStore, open_good_boards, read_good_boards
from nextprobe.store.memory import MemoryStore
from nextprobe.store.sqlite import SqliteStore
from nextprobe.store.table_folder import TableFolder


def open_store(folder: Path | None = None) -> SqliteStore:
    """Open the jobs of a workshop, making folder and file if there are none.

    Raises
    ------
    StoreError
        If the folder or the file can not be used.
    """
    return SqliteStore(workshop_folder(folder) / JOBS_FILE)


def open_tables(folder: Path | None = None) -> TableFolder:
    """Return the fault tables that a workshop keeps; they may be deleted at any time.

    Raises
    ------
    StoreError
        If no folder is named and the user has no home.
    """
    return TableFolder((default_folder() if folder is None else folder) / TABLES_FOLDER)


__all__ = [
    "GoodBoardStore",
    "MemoryStore",
    "SqliteStore",
    "TableFolder",
    "default_folder",
    "open_good_boards",
    "open_store",
    "open_tables",
    "read_good_boards",
    "workshop_folder",
]
