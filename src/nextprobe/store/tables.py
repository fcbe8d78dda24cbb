"""Tables of a store of jobs, and how rows and events turn into each other."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Column, Float, Integer, MetaData, String, Table, Text
from sqlalchemy.engine import Row

from nextprobe.workbench.events import Event, canonical_json
from nextprobe.workbench.ports import JobRow

APPLICATION_ID = 0x4E505242
"""Marks a SQLite file as a store of jobs (``PRAGMA application_id``)."""

TABLES_VERSION = 1
"""Of these tables (``PRAGMA user_version``)."""

metadata = MetaData()

jobs = Table(
    "jobs",
    metadata,
    Column("job_id", String, primary_key=True),
    Column("title", String, nullable=False),
    Column("events", Integer, nullable=False),
    Column("head", String, nullable=False),
    Column("seal", String, nullable=False),
)

events = Table(
    "events",
    metadata,
    Column("job_id", String, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String, nullable=False),
    Column("payload_json", Text, nullable=False),
    Column("time", Float, nullable=False),
    Column("engine_version", String, nullable=False),
    Column("pack_hash", String, nullable=False),
    Column("supersedes", Integer),
    Column("previous", String, nullable=False),
    Column("hash", String, nullable=False),
    Column("schema_version", Integer, nullable=False),
)


def _refusal(name: str, change: str, message: str, condition: str = "1") -> str:
    return (
        f"CREATE TRIGGER {name} BEFORE {change} WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    )


SQLITE_TRIGGERS = (
    _refusal("events_keep", "UPDATE ON events", "events are never changed"),
    _refusal("events_stay", "DELETE ON events", "events are never removed"),
    _refusal(
        "events_once",  # INSERT OR REPLACE removes a row without asking the trigger above
        "INSERT ON events",
        "events are never replaced",
        "EXISTS (SELECT 1 FROM events WHERE job_id = NEW.job_id AND number = NEW.number)",
    ),
    _refusal("jobs_stay", "DELETE ON jobs", "jobs are never removed"),
    _refusal(
        "jobs_grow",
        "UPDATE ON jobs",
        "jobs only grow, by one event at a time",
        "NEW.job_id <> OLD.job_id OR NEW.events <> OLD.events + 1",
    ),
)


def event_values(job_id: str, item: Event) -> dict[str, Any]:
    """Column values of an event."""
    return {"job_id": job_id, **vars(item)}


def event_from_row(row: Row[Any]) -> Event:
    """Event in a row of ``events``.

    Raises
    ------
    ValueError
        If a value is not of the type of its column, which a broken file can bring about.
    """
    values = dict(row._mapping)
    _text(values.pop("job_id"))
    if values["supersedes"] is not None:
        _whole(values["supersedes"])
    for name in ("number", "schema_version"):
        _whole(values[name])
    for name in ("kind", "payload_json", "engine_version", "pack_hash", "previous", "hash"):
        _text(values[name])
    if type(values["time"]) is not float:
        raise ValueError("the time is not a number")
    return Event(**values)


def job_values(job: JobRow) -> dict[str, Any]:
    """Column values of a job, sealed."""
    return {**vars(job), "seal": _seal(job)}


def job_from_row(row: Row[Any]) -> JobRow:
    """Job in a row of ``jobs``.

    Raises
    ------
    ValueError
        If the row does not match its seal.
    """
    job = JobRow(_text(row.job_id), _text(row.title), _whole(row.events), _text(row.head))
    if row.seal != _seal(job):
        raise ValueError("its line in the list of jobs does not match its seal")
    return job


def _seal(job: JobRow) -> str:
    text = canonical_json([job.job_id, job.title, job.events, job.head])
    return hashlib.sha256(text.encode()).hexdigest()


def _text(value: object) -> str:
    if type(value) is not str:
        raise ValueError("there is something else where text should be")
    return value


def _whole(value: object) -> int:
    if type(value) is not int:
        raise ValueError("there is something else where a whole number should be")
    return value
