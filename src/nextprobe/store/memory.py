"""A store in memory: for simulations, tests, and jobs that nobody needs tomorrow."""

from __future__ import annotations

from threading import Lock

from nextprobe.store.rules import exists_already, first_row, next_row, unknown
from nextprobe.workbench.events import Event
from nextprobe.workbench.ports import JobRow


class MemoryStore:
    """An :class:`~nextprobe.workbench.ports.EventStore` that is gone with its process."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._rows: dict[str, JobRow] = {}
        self._events: dict[str, tuple[Event, ...]] = {}

    def create_job(self, job_id: str, first: Event, title: str = "") -> None:
        """Keep a new job with its first event."""
        row = first_row(job_id, first, title)
        with self._lock:
            if job_id in self._rows:
                raise exists_already(job_id)
            self._rows[job_id] = row
            self._events[job_id] = (first,)

    def append(self, job_id: str, event: Event) -> None:
        """Keep the next event of a job."""
        with self._lock:
            if job_id not in self._rows:
                raise unknown(job_id)
            self._rows[job_id] = next_row(self._rows[job_id], event)
            self._events[job_id] += (event,)

    def read(self, job_id: str) -> tuple[Event, ...]:
        """All events of a job."""
        with self._lock:
            if job_id not in self._rows:
                raise unknown(job_id)
            return self._events[job_id]

    def jobs(self) -> tuple[JobRow, ...]:
        """All jobs, by name."""
        with self._lock:
            return tuple(self._rows[job_id] for job_id in sorted(self._rows))
