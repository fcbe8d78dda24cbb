"""Protocols that adapters fill: what the workbench asks of the world outside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from nextprobe.workbench.events import Event


@dataclass(frozen=True)
class JobRow:
    """One line in the list of jobs.

    Parameters
    ----------
    job_id : str
        What the job is called, unique in its store.
    title : str
        For people.
    events : int
        How many events its log has, one at least.
    head : str
        Hash of the last of them.
    """

    job_id: str
    title: str
    events: int
    head: str


class EventStore(Protocol):
    """Where logs of events are kept. Nothing is ever changed or removed in it.

    All methods raise :class:`~nextprobe.errors.StoreError` if the store can not be used, in
    particular ``StoreLockedError`` and ``StoreDamagedError``. Methods may be called from
    several threads.
    """

    def create_job(self, job_id: str, first: Event, title: str = "") -> None:
        """Store a new job together with its first event, both or neither.

        Raises
        ------
        MisuseError
            If ``job_id`` is empty or ``first`` is not the first of a chain.
        StoreConflictError
            If there is a job of that name.
        """

    def append(self, job_id: str, event: Event) -> None:
        """Store the next event of a job; it is on disk when this returns.

        Raises
        ------
        MisuseError
            If there is no such job, or the event does not match its hash.
        StoreConflictError
            If the event does not follow the last one stored: another writer was first, nothing
            is stored, and the caller should read again, think again and retry.
        """

    def read(self, job_id: str) -> tuple[Event, ...]:
        """Read all events of a job, verified.

        Raises
        ------
        MisuseError
            If there is no such job.
        """

    def jobs(self) -> tuple[JobRow, ...]:
        """List all jobs, by name."""
