"""Entries that a client has named, so that one that is sent twice is written once.

The name stands in the payload of the event, so that it is hashed, kept and found again with it,
whichever program asks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nextprobe.errors import Finding, RepeatedKeyError, Severity, Where
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.events import Event

ENTRY = "entry"


@dataclass(frozen=True)
class EntryName:
    """What a client calls an entry.

    Parameters
    ----------
    key : str
        Made by the client, unique in the job; letters, digits, ``-``, ``_`` and ``/``.
    request : str
        Digest of what is asked for: the same key with another request is a mistake.
    also : tuple of Finding
        What was found in reading the request.
    """

    key: str
    request: str
    also: tuple[Finding, ...] = ()

    def part(self, number: int) -> EntryName:
        """Return the name of one of several events that the entry is written as."""
        return EntryName(f"{self.key}/{number}", self.request, self.also)


def with_name(
    payload: Mapping[str, JsonValue],
    name: EntryName,
    said: Sequence[str] = (),
    findings: Iterable[Finding] = (),
) -> dict[str, JsonValue]:
    """Return a payload that carries the name of its entry, and the first answer to it."""
    noted = [_finding_to_json(finding) for finding in (*name.also, *findings)]
    mark: dict[str, JsonValue] = {
        "key": name.key,
        "request": name.request,
        "said": list(said),
        "findings": noted,
    }
    return {**payload, ENTRY: mark}


def without_name(payload: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
    """Return a payload that stands under no name."""
    return {field: value for field, value in payload.items() if field != ENTRY}


def event_named(events: Iterable[Event], name: EntryName) -> Event | None:
    """Return the event that was written under a name.

    Raises
    ------
    RepeatedKeyError
        If the key stands for another request.
    """
    mark = f'"key":"{name.key}"'
    for event in events:
        found = event.payload.get(ENTRY) if mark in event.payload_json else None
        if isinstance(found, dict) and found.get("key") == name.key:
            if found["request"] != name.request:
                raise RepeatedKeyError(
                    f"the key {name.key} stands for event {event.number}, which says something "
                    "else: make a new key for a new entry"
                )
            return event
    return None


def first_answer(event: Event) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """Return what was said, and found, when a named entry was written."""
    mark = event.payload[ENTRY]
    return tuple(mark["said"]), tuple(_finding_from_json(found) for found in mark["findings"])


def name_in(payload: Mapping[str, Any]) -> EntryName | None:
    """Return the name that a payload carries."""
    mark = payload.get(ENTRY)
    return EntryName(mark["key"], mark["request"]) if isinstance(mark, Mapping) else None


def _finding_to_json(finding: Finding) -> JsonValue:
    where = finding.where
    return {
        "what": finding.what,
        "where": [where.source, where.line, where.column, where.name],
        "remedy": finding.remedy,
        "severity": finding.severity.value,
    }


def _finding_from_json(data: Mapping[str, Any]) -> Finding:
    return Finding(data["what"], Where(*data["where"]), data["remedy"], Severity(data["severity"]))
