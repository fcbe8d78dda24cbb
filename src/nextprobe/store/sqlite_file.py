"""Making and opening the SQLite file of a store.

The file is WAL with synchronous FULL: a commit is on disk when it returns, and readers never
wait for the writer (https://sqlite.org/wal.html, https://sqlite.org/pragma.html#pragma_synchronous).
"""

from __future__ import annotations

import os
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool, QueuePool

from nextprobe.errors import StoreError
from nextprobe.store.tables import APPLICATION_ID, SQLITE_TRIGGERS, TABLES_VERSION, metadata
from nextprobe.store.trouble import damaged, in_words

_SAFETY = (
    "PRAGMA synchronous=FULL",
    "PRAGMA fullfsync=ON",
    "PRAGMA checkpoint_fullfsync=ON",
    "PRAGMA trusted_schema=OFF",
    "PRAGMA cell_size_check=ON",
)


def writing_engine(path: Path, patience: float, most_pages: int | None = None) -> Engine:
    """Make the one connection that writes; others wait for it, up to ``patience`` [s]."""
    engine = create_engine(
        "sqlite://",
        creator=lambda: _connect(path, "rw", patience, most_pages),
        poolclass=QueuePool,
        pool_size=1,
        max_overflow=0,
        pool_timeout=patience,
    )
    _begin_with(engine, "BEGIN IMMEDIATE")
    return engine


def reading_engine(path: Path, patience: float) -> Engine:
    """Make connections that can only read, each transaction seeing one moment."""
    engine = create_engine(
        "sqlite://", creator=lambda: _connect(path, "ro", patience), poolclass=NullPool
    )
    _begin_with(engine, "BEGIN")
    return engine


def make_sure_of_file(path: Path, patience: float) -> None:
    """Make the file if there is none, complete or not at all.

    Raises
    ------
    StoreDamagedError
        If only remains of a store are there.
    StoreError
        If it can not be made.
    """
    if path.exists():
        return
    log = path.with_name(f"{path.name}-wal")
    if log.exists() and log.stat().st_size:
        raise damaged(path, f"the file is missing, but {log.name} is there", "bring both back")
    try:
        with tempfile.TemporaryDirectory(prefix=".new-", dir=path.parent) as folder:
            draft = Path(folder) / path.name
            _make(draft, patience)
            _publish(draft, path)
    except OSError as error:
        raise StoreError(f"{path}: the file can not be made ({error})") from error


def check_file(engine: Engine, path: Path) -> None:
    """Refuse a file that is something else, damaged, or made by a newer program."""
    with in_words(path), engine.connect() as connection:
        kind = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    if kind != APPLICATION_ID:
        raise damaged(path, "the file is not a store of jobs, or its head is damaged")
    if version > TABLES_VERSION:
        raise StoreError(
            f"{path}: made by a newer program (tables of version {version}, this one knows "
            f"{TABLES_VERSION}): update the program"
        )
    if version < TABLES_VERSION:
        raise damaged(path, f"there are no tables of version {version}")


def _connect(
    path: Path, mode: str, patience: float, most_pages: int | None = None
) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"file:{quote(str(path))}?mode={mode}",
        uri=True,
        timeout=patience,
        isolation_level=None,
        check_same_thread=False,
    )
    limit = () if most_pages is None else (f"PRAGMA max_page_count={most_pages:d}",)
    try:
        for statement in (*_SAFETY, *limit):
            connection.execute(statement)
    except BaseException:
        connection.close()
        raise
    return connection


def _begin_with(engine: Engine, statement: str) -> None:
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql(statement)

    event.listen(engine, "begin", begin)


def _make(draft: Path, patience: float) -> None:
    draft.touch(mode=0o600)
    engine = writing_engine(draft, patience)
    with in_words(draft), engine.begin() as connection:
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
        connection.exec_driver_sql(f"PRAGMA user_version={TABLES_VERSION}")
        metadata.create_all(connection)
        for trigger in SQLITE_TRIGGERS:
            connection.exec_driver_sql(trigger)
    engine.dispose()
    with in_words(draft), closing(_connect(draft, "rw", patience)) as bare:
        bare.execute("PRAGMA journal_mode=WAL")


def _publish(draft: Path, path: Path) -> None:
    """Put the finished file in place, unless another process was first."""
    try:
        os.link(draft, path)
    except FileExistsError:
        return
    except OSError:  # a file system without hard links
        if not path.exists():
            draft.rename(path)
    _flush_folder(path.parent)


def _flush_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
