"""The live channel of a job: every window is told what it has not seen."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from pydantic_core import to_json

from nextprobe.errors import NextprobeError, StoreError
from nextprobe.job import Job
from nextprobe.web.board_layout import layout_of
from nextprobe.web.frames import suspicion_frame
from nextprobe.web.plainly import sent
from nextprobe.web.workshop import Workshop

MOST_WINDOWS = 64
_MOST_WAITING = 32


@dataclass(eq=False)
class Window:
    """Somebody who watches a job.

    Parameters
    ----------
    job_id : str
    version : int
        How many events it has seen.
    suspects : int
        Of how many suspects it wants to be told.
    """

    job_id: str
    version: int
    suspects: int = 0
    news: asyncio.Event = field(default_factory=asyncio.Event)
    readings: asyncio.Queue[bytes] = field(default_factory=lambda: asyncio.Queue(_MOST_WAITING))

    def tell(self, reading: bytes) -> None:
        """Hand on what is under the probe; where the window is slow, the oldest is dropped."""
        if self.readings.full():
            self.readings.get_nowait()
        self.readings.put_nowait(reading)


class Hub:
    """All windows.

    Parameters
    ----------
    workshop : Workshop
    """

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._windows: dict[str, list[Window]] = {}
        self._heads: dict[str, int] = {}

    @property
    def count(self) -> int:
        """How many windows are open."""
        return sum(len(windows) for windows in self._windows.values())

    def open(self, job_id: str, version: int, suspects: int = 0) -> Window:
        """Return a window that has seen so many events."""
        window = Window(job_id, version, suspects)
        window.news.set()
        self._windows.setdefault(job_id, []).append(window)
        return window

    def close(self, window: Window) -> None:
        """Forget a window."""
        windows = self._windows.get(window.job_id, [])
        if window in windows:
            windows.remove(window)
        if not windows:
            self._windows.pop(window.job_id, None)
            self._heads.pop(window.job_id, None)

    def tell(self, job_id: str) -> None:
        """Say that something was written to a job."""
        for window in self._windows.get(job_id, ()):
            window.news.set()

    def tell_reading(self, job_id: str, reading: bytes, but: Window | None = None) -> None:
        """Hand a reading on to all windows on a job, but the one that it comes from."""
        for window in self._windows.get(job_id, ()):
            if window is not but:
                window.tell(reading)

    async def watch(self, seconds: float) -> None:
        """Look again and again for what other programs have written to jobs that are watched."""
        while True:
            await asyncio.sleep(seconds)
            if not self._windows:
                continue
            with suppress(StoreError):
                rows = await asyncio.to_thread(self._workshop.store.jobs)
                for row in rows:
                    if row.job_id in self._windows and self._heads.get(row.job_id) != row.events:
                        self._heads[row.job_id] = row.events
                        self.tell(row.job_id)


def missed(job: Job, version: int) -> dict[str, Any]:
    """Return the message with the events after a version."""
    lines = job.history()
    standing = [line.event for line in lines if line.stands]
    return {
        "type": "events",
        "job": job.job_id,
        "version": len(lines),
        "events": sent(lines[version:]),
        "standing": standing,
    }


def suspected(job: Job, most: int) -> bytes:
    """Return the message with the suspects; nothing where they can not be computed."""
    if not most:
        return b""
    try:
        found = job.suspects(most)
    except (NextprobeError, ArithmeticError, ValueError, LookupError):
        return b""
    version = len(job.events())
    told = {"type": "suspects", "job": job.job_id, "version": version, "suspects": sent(found)}
    return to_json(told)


def suspicion(job: Job) -> bytes:
    """Return the binary message with the suspicion on each pad; nothing where there is no board."""
    board = job.knowledge.board
    if board is None:
        return b""
    layout = layout_of(board)
    try:
        found = layout.suspicion(job.case)
    except (NextprobeError, ArithmeticError, ValueError, LookupError):
        return b""
    return suspicion_frame(len(job.events()), layout.key, found)
