"""Corrections: how later events take the place of earlier ones, without anything being erased."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nextprobe.errors import MisuseError
from nextprobe.workbench.events import Event

WITHDRAWN = "withdrawn"


def effective(events: Iterable[Event]) -> tuple[Event, ...]:
    """Events as they stand after all corrections.

    An event that supersedes another takes its *place*, so a corrected reading still counts at
    the moment it was taken. One of kind ``withdrawn`` leaves the place empty. A correction may
    itself be corrected, and correcting a withdrawal fills the place again.

    Raises
    ------
    MisuseError
        If a correction makes no sense; see :func:`check_correction`.
    """
    return tuple(event for event in _slots(tuple(events)) if event is not None)


def check_correction(events: Sequence[Event], kind: str, supersedes: int | None) -> None:
    """Refuse a correction of ``events`` that makes no sense.

    Raises
    ------
    MisuseError
        If it supersedes an unknown number or one that has been superseded before, withdraws
        the start of the job or a withdrawal, or is a withdrawal of nothing.
    """
    if supersedes is None:
        if kind == WITHDRAWN:
            raise MisuseError("a withdrawal must say which event it withdraws")
        return
    old = _superseded(events, supersedes)
    if kind != WITHDRAWN:
        return
    if _origin(events, supersedes) == 1:
        raise MisuseError("the start of a job can not be withdrawn, only corrected")
    if old.kind == WITHDRAWN:
        raise MisuseError(
            f"event {supersedes} is a withdrawal: to undo it, record what should stand "
            f"in its place, superseding {supersedes}"
        )


def _superseded(events: Sequence[Event], number: int) -> Event:
    """Return the event that a correction of ``number`` means."""
    if not 1 <= number <= len(events):
        raise MisuseError(f"there is no event {number} to supersede; the last is {len(events)}")
    for event in events:
        if event.supersedes == number:
            raise MisuseError(
                f"event {number} has been superseded by event {event.number}: correct that one"
            )
    return events[number - 1]


def _origin(events: Sequence[Event], number: int) -> int:
    """Return the number of the event whose place an event holds."""
    while (older := events[number - 1].supersedes) is not None:
        number = older
    return number


def _slots(events: Sequence[Event]) -> list[Event | None]:
    slots: list[Event | None] = []
    slot_of: dict[int, int] = {}
    for index, event in enumerate(events):
        if event.supersedes is None:
            slot_of[event.number] = len(slots)
            slots.append(event)
            continue
        check_correction(events[:index], event.kind, event.supersedes)
        slot = slot_of[event.number] = slot_of[event.supersedes]
        slots[slot] = None if event.kind == WITHDRAWN else event
    return slots
