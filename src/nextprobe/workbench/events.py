"""Events: what a job's log is made of, and the chain of hashes that ties them together.

An event holds its payload as canonical JSON text, so it can not be changed after it has been
hashed, and what is stored is letter for letter what was hashed.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

from nextprobe.errors import Finding, MisuseError, Where
from nextprobe.workbench.canonical import JsonValue, canonical_json

SCHEMA_VERSION = 1
NO_HASH = ""

__all__ = [
    "SCHEMA_VERSION",
    "Event",
    "JsonValue",
    "broken_at",
    "canonical_json",
    "chain",
    "content_hash",
    "event_after",
    "intact",
    "verify_chain",
]


@dataclass(frozen=True)
class Event:
    """One thing that happened in a job. Make one with :func:`event_after`.

    Parameters
    ----------
    number : int
        Counted from 1 in its job.
    kind : str
        What happened, in one word of the trade.
    payload_json : str
        The particulars as canonical JSON; :attr:`payload` gives them as a mapping.
    time : float
        When it happened [s since the epoch].
    engine_version, pack_hash : str
        What computed with it at the time.
    supersedes : int or None
        Number of the event that this one corrects or withdraws.
    previous : str
        Hash of the event before, empty for the first.
    hash : str
        SHA-256 (FIPS 180-4) of the canonical JSON of all the rest, in hexadecimal.
    schema_version : int
        Of the shape of events, not of the engine.
    """

    number: int
    kind: str
    payload_json: str
    time: float
    engine_version: str
    pack_hash: str
    supersedes: int | None
    previous: str
    hash: str
    schema_version: int = SCHEMA_VERSION

    @property
    def payload(self) -> dict[str, Any]:
        """The particulars, as a fresh mapping at each call."""
        return cast(dict[str, Any], json.loads(self.payload_json))


def event_after(
    previous: Event | None,
    kind: str,
    payload: Mapping[str, JsonValue],
    *,
    time: float,
    engine_version: str,
    pack_hash: str = "",
    supersedes: int | None = None,
    schema_version: int = SCHEMA_VERSION,
) -> Event:
    """Make the event that follows ``previous`` (None: the first of its job), with its hash.

    Raises
    ------
    MisuseError
        If the payload is not JSON, the kind is empty or the time is not a finite number.
    """
    if not kind.strip():
        raise MisuseError("an event needs a kind")
    if not math.isfinite(time):
        raise MisuseError(f"the time of an event is {time}: give seconds since the epoch")
    draft = Event(
        number=previous.number + 1 if previous else 1,
        kind=kind,
        payload_json=canonical_json(dict(payload)),
        time=float(time) + 0.0,  # -0.0 would come back from a database as 0.0
        engine_version=engine_version,
        pack_hash=pack_hash,
        supersedes=supersedes,
        previous=previous.hash if previous else NO_HASH,
        hash=NO_HASH,
        schema_version=schema_version,
    )
    return replace(draft, hash=content_hash(draft))


def content_hash(event: Event) -> str:
    """SHA-256 of the canonical JSON of everything in an event but its own hash."""
    parts = {
        "engine_version": canonical_json(event.engine_version),
        "kind": canonical_json(event.kind),
        "number": canonical_json(event.number),
        "pack_hash": canonical_json(event.pack_hash),
        "payload": event.payload_json,
        "previous": canonical_json(event.previous),
        "schema_version": canonical_json(event.schema_version),
        "supersedes": canonical_json(event.supersedes),
        "time": canonical_json(event.time),
    }
    text = ",".join(f'"{name}":{part}' for name, part in parts.items())
    return hashlib.sha256(f"{{{text}}}".encode()).hexdigest()


def chain(events: Iterable[Event]) -> tuple[Event, ...]:
    """Link events afresh: the same contents in the same order, numbered from 1 and hashed.

    For logs put together from elsewhere; ``supersedes`` must already mean the new numbers.
    """
    linked: list[Event] = []
    for number, event in enumerate(events, start=1):
        previous = linked[-1].hash if linked else NO_HASH
        draft = replace(event, number=number, previous=previous)
        linked.append(replace(draft, hash=content_hash(draft)))
    return tuple(linked)


def verify_chain(events: Sequence[Event]) -> Finding | None:
    """Say where a chain of events breaks first, or None if it is whole.

    The events before the break are good. That events are missing at the *end* can not be seen
    from a chain alone; a store must know how many there ought to be.
    """
    good = intact(events)
    if len(good) == len(events):
        return None
    return broken_at(len(good) + 1, _break(good, events[len(good)]))


def intact(events: Sequence[Event]) -> tuple[Event, ...]:
    """Longest beginning of ``events`` that is a whole chain."""
    good: list[Event] = []
    for event in events:
        if _break(good, event):
            break
        good.append(event)
    return tuple(good)


def broken_at(number: int, what: str) -> Finding:
    """Describe the break in a log of which the events before ``number`` are good."""
    good = f"events 1 to {number - 1} are good" if number > 1 else "no event before it"
    return Finding(
        what=what,
        where=Where(name=f"event {number}"),
        remedy=f"{good}; go back to a copy of the file, or start a new job from the good events",
    )


def _break(good: Sequence[Event], event: Event) -> str:
    """Say what keeps an event from following the good ones, empty if nothing does."""
    if event.number != len(good) + 1:
        return f"event {event.number} stands where event {len(good) + 1} should be"
    if event.previous != (good[-1].hash if good else NO_HASH):
        return "it does not follow from the event before it"
    try:
        true_hash = content_hash(event)
    except MisuseError as error:
        return f"its contents are not readable: {error}"
    return "" if event.hash == true_hash else "its contents do not match its hash"
