"""Jobs in one SQLite file: append-only, durable, and checked at every reading."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.engine import Row

from nextprobe.errors import Finding, StoreDamagedError, StoreError
from nextprobe.store import tables
from nextprobe.store.rules import exists_already, first_row, next_row, unknown
from nextprobe.store.sqlite_file import (
    check_file,
    make_sure_of_file,
    reading_engine,
    writing_engine,
)
from nextprobe.store.trouble import damaged, in_words
from nextprobe.workbench.events import Event, broken_at, intact, verify_chain
from nextprobe.workbench.ports import JobRow

PATIENCE = 5.0


class SqliteStore:
    """An :class:`~nextprobe.workbench.ports.EventStore` in one file.

    What has been appended is on disk before the call returns. Any damage to the file that
    changes, hides or adds an event is found when the job is read: each event is hashed together
    with the one before, and a sealed line per job says how many there must be. One thing can
    not be seen from inside: when the ``-wal`` file beside it is lost while in use, the store
    falls back to an earlier moment that was whole.

    Parameters
    ----------
    path : Path
        The file, made if it does not exist; its folder must.
    patience : float
        How long to wait for another writer [s].
    most_pages : int, optional
        Refuse to grow beyond this number of pages of 4096 bytes.

    Raises
    ------
    StoreError
        If the file can not be made or opened, or was made by a newer program.
    StoreDamagedError
        If the file is not a store of jobs.
    """

    def __init__(
        self, path: Path, *, patience: float = PATIENCE, most_pages: int | None = None
    ) -> None:
        self.path = path
        make_sure_of_file(path, patience)
        self._reader = reading_engine(path, patience)
        self._writer = writing_engine(path, patience, most_pages)
        try:
            check_file(self._reader, path)
        except StoreError:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._reader.dispose()
        self._writer.dispose()

    def create_job(self, job_id: str, first: Event, title: str = "") -> None:
        """Store a new job together with its first event."""
        row = first_row(job_id, first, title)
        with self._writing() as connection:
            if self._find(connection, job_id):
                raise exists_already(job_id)
            connection.execute(insert(tables.jobs), tables.job_values(row))
            connection.execute(insert(tables.events), tables.event_values(job_id, first))

    def append(self, job_id: str, event: Event) -> None:
        """Store the next event of a job; it is on disk when this returns."""
        with self._writing() as connection:
            row = next_row(self._known(connection, job_id), event)
            connection.execute(insert(tables.events), tables.event_values(job_id, event))
            connection.execute(
                update(tables.jobs).where(tables.jobs.c.job_id == job_id),
                tables.job_values(row),
            )

    def read(self, job_id: str) -> tuple[Event, ...]:
        """All events of a job, verified."""
        events, broken = self.read_intact(job_id)
        if broken:
            raise damaged(self.path, f"job {job_id}, {broken.where}: {broken.what}", broken.remedy)
        return events

    def read_intact(self, job_id: str) -> tuple[tuple[Event, ...], Finding | None]:
        """Events of a job up to the first damage, and what the damage is.

        Raises
        ------
        MisuseError
            If there is no such job.
        StoreDamagedError
            If not even the list of jobs can be read.
        """
        with self._reading() as connection:
            row = self._known(connection, job_id)
            events, broken = self._read_rows(connection, job_id)
        broken = verify_chain(events) or broken
        if broken:
            return intact(events), broken
        if (len(events), events[-1].hash if events else "") != (row.events, row.head):
            return events, broken_at(len(events) + 1, f"of {row.events} events, some are missing")
        return events, None

    def jobs(self) -> tuple[JobRow, ...]:
        """All jobs, by name."""
        listing = select(tables.jobs).order_by(tables.jobs.c.job_id)
        counting = select(tables.events.c.job_id, func.count().label("number")).group_by(
            tables.events.c.job_id
        )
        with self._reading() as connection:
            rows = tuple(self._row(row) for row in connection.execute(listing))
            counts = {row.job_id: row.number for row in connection.execute(counting)}
        if counts != {row.job_id: row.events for row in rows}:
            raise damaged(self.path, "the list of jobs and their events do not fit together")
        return rows

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """Give a transaction that keeps everything or nothing, and only one writer at a time."""
        with in_words(self.path), self._writer.begin() as connection:
            yield connection

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        """Give a transaction that sees one moment."""
        with in_words(self.path), self._reader.begin() as connection:
            yield connection

    def _known(self, connection: Connection, job_id: str) -> JobRow:
        row = self._find(connection, job_id)
        if row:
            return row
        if connection.scalar(select(func.count()).where(tables.events.c.job_id == job_id)):
            raise damaged(self.path, f"job {job_id} has events, but is not in the list of jobs")
        raise unknown(job_id)

    def _find(self, connection: Connection, job_id: str) -> JobRow | None:
        row = connection.execute(select(tables.jobs).where(tables.jobs.c.job_id == job_id)).first()
        return self._row(row) if row else None

    def _row(self, row: Row[Any]) -> JobRow:
        try:
            return tables.job_from_row(row)
        except ValueError as error:
            raise damaged(self.path, f"job {row.job_id!r}: {error}") from error

    def _read_rows(
        self, connection: Connection, job_id: str
    ) -> tuple[tuple[Event, ...], Finding | None]:
        query = (
            select(tables.events)
            .where(tables.events.c.job_id == job_id)
            .order_by(tables.events.c.number)
        )
        good: list[Event] = []
        try:
            with in_words(self.path):
                good.extend(tables.event_from_row(row) for row in connection.execute(query))
        except (StoreDamagedError, ValueError):
            return tuple(good), broken_at(len(good) + 1, "what is stored there is not readable")
        return tuple(good), None
