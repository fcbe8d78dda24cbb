"""A job's log, read: what was said, what was learnt about the board, what was done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from nextprobe.board import Board, PinTable, Role
from nextprobe.diagnosis import Move
from nextprobe.errors import MisuseError
from nextprobe.workbench.board_json import board_from_json
from nextprobe.workbench.events import Event
from nextprobe.workbench.intake import Intake, Package, start_from_json
from nextprobe.workbench.move_json import move_from_json
from nextprobe.workbench.pinout_json import pinout_from_json

STARTED = "started"
PINOUT = "pinout added"
CHAINS = "chains added"
ROLE = "role set"
MOVES = "moves recorded"
NOTE = "note"
PHOTO = "photo added"
CLOSED = "closed"


@dataclass(frozen=True)
class ChainNote:
    """Chains that somebody typed.

    Parameters
    ----------
    text : str
        As typed.
    board : Board
        With the chains, as it was read then.
    onto : str
        Digest of the board that they were added to; see `board_digest`.
    """

    text: str
    board: Board
    onto: str


@dataclass(frozen=True)
class Entry:
    """Something that was done on the bench.

    Parameters
    ----------
    number : int
        Of its event.
    step : str
        Id of the step that it belongs to.
    moves : tuple of Move
    code : str
        Error code of a failed refresh.
    """

    number: int
    step: str
    moves: tuple[Move, ...]
    code: str = ""


@dataclass(frozen=True)
class Closing:
    """How a job ended.

    Parameters
    ----------
    number : int
        Of its event.
    ending : str
        ``close``, ``decline`` or ``escalate``.
    fitted : tuple of (str, str)
        Module and the instance that is handed over in it.
    """

    number: int
    ending: str
    fitted: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Learnt:
    """What was learnt about the board in the course of a job.

    Parameters
    ----------
    pinouts : tuple of PinTable
    chains : tuple of ChainNote
    roles : tuple of (str, Role)
        Pin or net, and what it is for.
    """

    pinouts: tuple[PinTable, ...] = ()
    chains: tuple[ChainNote, ...] = ()
    roles: tuple[tuple[str, Role], ...] = ()


@dataclass(frozen=True)
class JobRecord:
    """Everything that a job's log says, corrections applied.

    Parameters
    ----------
    intake : Intake
    package : Package
    learnt : Learnt
    entries : tuple of Entry
    notes : tuple of (int, str)
        Number of the event and text.
    closing : Closing or None
    """

    intake: Intake
    package: Package
    learnt: Learnt = field(default_factory=Learnt)
    entries: tuple[Entry, ...] = ()
    notes: tuple[tuple[int, str], ...] = ()
    closing: Closing | None = None

    @property
    def moves(self) -> tuple[Move, ...]:
        """Everything that was done and seen, in order."""
        return tuple(move for entry in self.entries for move in entry.moves)


def read_record(events: Iterable[Event]) -> JobRecord:
    """Read a log whose corrections have been applied; events of unknown kinds say nothing.

    Raises
    ------
    MisuseError
        If the log does not begin with the start of a job.
    """
    first, *rest = events
    if first.kind != STARTED:
        raise MisuseError(f"a job begins with '{STARTED}', not with '{first.kind}'")
    record = JobRecord(*start_from_json(first.payload_json))
    for event in rest:
        record = with_event(record, event)
    return record


def with_event(record: JobRecord, event: Event) -> JobRecord:
    """Return the record with one more event."""
    data = event.payload
    if event.kind in (PINOUT, CHAINS, ROLE):
        return replace(record, learnt=_learnt(record.learnt, event.kind, data))
    if event.kind == MOVES:
        moves = tuple(move_from_json(move) for move in data["moves"])
        entry = Entry(event.number, data["step"], moves, data.get("code", ""))
        return replace(record, entries=(*record.entries, entry))
    if event.kind == NOTE:
        return replace(record, notes=(*record.notes, (event.number, data["text"])))
    if event.kind == CLOSED:
        fitted = tuple((slot, instance) for slot, instance in data["fitted"])
        return replace(record, closing=Closing(event.number, data["ending"], fitted))
    return record


def _learnt(learnt: Learnt, kind: str, data: dict[str, Any]) -> Learnt:
    if kind == PINOUT:
        return replace(learnt, pinouts=(*learnt.pinouts, pinout_from_json(data["pins"])))
    if kind == CHAINS:
        note = ChainNote(data["text"], board_from_json(data["board"]), data["onto"])
        return replace(learnt, chains=(*learnt.chains, note))
    return replace(learnt, roles=(*learnt.roles, (data["point"], Role(data["role"]))))
