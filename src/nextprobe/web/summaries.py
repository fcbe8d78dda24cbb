"""Jobs in a list: what can be said without computing anything."""

from __future__ import annotations

from typing import Any

from nextprobe.errors import StoreError
from nextprobe.store import SqliteStore
from nextprobe.workbench.corrections import effective
from nextprobe.workbench.overview import complaint_title
from nextprobe.workbench.ports import JobRow
from nextprobe.workbench.record import CLOSED


class Summaries:
    """Lines of the list, kept until a job changes.

    Parameters
    ----------
    store : SqliteStore
    """

    def __init__(self, store: SqliteStore) -> None:
        self._store = store
        self._known: dict[str, tuple[str, dict[str, Any]]] = {}

    def all(self) -> list[dict[str, Any]]:
        """Return a line for each job, the one that changed last first."""
        rows = self._store.jobs()
        self._known = {row.job_id: (row.head, self._of(row)) for row in rows}
        lines = [line for _, line in self._known.values()]
        return sorted(lines, key=lambda line: (-line["changed"], line["job"]))

    def _of(self, row: JobRow) -> dict[str, Any]:
        head, line = self._known.get(row.job_id, ("", {}))
        return line if head == row.head else self._made(row)

    def _made(self, row: JobRow) -> dict[str, Any]:
        line = {
            "job": row.job_id, "title": row.title, "version": row.events, "device": "",
            "complaint": "", "complaint_title": "", "says": "", "started": 0.0, "changed": 0.0,
            "ending": "", "readable": False,
        }  # fmt: skip
        try:
            events = self._store.read(row.job_id)
        except StoreError:
            return line
        standing = effective(events)
        intake = standing[0].payload
        closing = [event.payload["ending"] for event in standing if event.kind == CLOSED]
        said = {name: intake[name] for name in ("device", "complaint", "says")}
        times = {"started": events[0].time, "changed": events[-1].time}
        said["complaint_title"] = complaint_title(intake)
        return {**line, **said, **times, "ending": (*closing, "")[0], "readable": True}
