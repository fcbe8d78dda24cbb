"""The log of one job: append-only, and everything shown is computed from it."""

from __future__ import annotations

import time as clocks
from collections.abc import Callable, Mapping

from nextprobe import __version__
from nextprobe.errors import StoreConflictError, StoreError
from nextprobe.workbench.corrections import check_correction, effective
from nextprobe.workbench.entry_names import event_named, name_in
from nextprobe.workbench.events import SCHEMA_VERSION, Event, JsonValue, event_after
from nextprobe.workbench.ports import EventStore

ATTEMPTS = 50


class EventLog:
    """The log of a job that exists. :meth:`start` makes a new one.

    Several logs of one job may be open at once, in this process or in others: an append that
    comes second is put after the first one. One log belongs to one thread.

    Parameters
    ----------
    store : EventStore
        Where the events are kept.
    job_id : str
        Which job.
    engine_version : str
        Noted in events appended from here on.
    clock : callable
        Gives the time [s since the epoch].

    Raises
    ------
    MisuseError
        If there is no such job.
    StoreError
        If the store can not be read, or the log was written by a newer version.
    """

    def __init__(
        self,
        store: EventStore,
        job_id: str,
        *,
        engine_version: str = __version__,
        clock: Callable[[], float] = clocks.time,
    ) -> None:
        self.job_id = job_id
        self._store = store
        self._engine_version = engine_version
        self._clock = clock
        self.refresh()

    @classmethod
    def start(
        cls,
        store: EventStore,
        job_id: str,
        kind: str,
        payload: Mapping[str, JsonValue],
        *,
        title: str = "",
        pack_hash: str = "",
        time: float | None = None,
        engine_version: str = __version__,
        clock: Callable[[], float] = clocks.time,
    ) -> EventLog:
        """Begin a job with its first event, which can be corrected but never withdrawn.

        Raises
        ------
        StoreConflictError
            If there is a job of that name.
        """
        check_correction((), kind, None)
        first = event_after(
            None,
            kind,
            payload,
            time=clock() if time is None else time,
            engine_version=engine_version,
            pack_hash=pack_hash,
        )
        store.create_job(job_id, first, title)
        return cls(store, job_id, engine_version=engine_version, clock=clock)

    def append(
        self,
        kind: str,
        payload: Mapping[str, JsonValue],
        supersedes: int | None = None,
        time: float | None = None,
        pack_hash: str | None = None,
    ) -> Event:
        """Add an event; it is on disk when this returns.

        If another bench has written meanwhile, its events are read and this one is put after
        them, provided that it still makes sense there. An entry that a client has named is
        written once: if it is there already, its event is returned.

        Parameters
        ----------
        kind, payload
            What happened, and the particulars.
        supersedes : int, optional
            Number of the event to correct, or to withdraw if ``kind`` is ``withdrawn``.
        time : float, optional
            When it happened [s since the epoch]; now if left out.
        pack_hash : str, optional
            Of the pack that computes from here on; that of the event before if left out.

        Raises
        ------
        MisuseError
            If the payload is not JSON or the correction makes no sense; nothing is stored.
        StoreError
            If it could not be stored.
        """
        moment = self._clock() if time is None else time
        for _ in range(ATTEMPTS - 1):
            try:
                return self._append_once(kind, payload, supersedes, moment, pack_hash)
            except StoreConflictError:
                self.refresh()
        return self._append_once(kind, payload, supersedes, moment, pack_hash)

    def events(self) -> tuple[Event, ...]:
        """Every event known here, oldest first."""
        return self._events

    def effective(self) -> tuple[Event, ...]:
        """Events as they stand after corrections, each in the place of what it corrects."""
        return effective(self._events)

    def refresh(self) -> None:
        """Read again what is stored, so as to see what other benches have written."""
        events = self._store.read(self.job_id)
        newest = max(event.schema_version for event in events)
        if newest > SCHEMA_VERSION:
            raise StoreError(
                f"job {self.job_id} has events of version {newest}, and this program knows "
                f"versions up to {SCHEMA_VERSION}: update the program"
            )
        self._events = events

    def _append_once(
        self,
        kind: str,
        payload: Mapping[str, JsonValue],
        supersedes: int | None,
        time: float,
        pack_hash: str | None,
    ) -> Event:
        name = name_in(payload)
        if name is not None and (known := event_named(self._events, name)) is not None:
            return known
        check_correction(self._events, kind, supersedes)
        last = self._events[-1]
        event = event_after(
            last,
            kind,
            payload,
            time=time,
            engine_version=self._engine_version,
            pack_hash=last.pack_hash if pack_hash is None else pack_hash,
            supersedes=supersedes,
        )
        self._store.append(self.job_id, event)
        self._events = (*self._events, event)
        return event
