"""A job at a glance, and its log in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from nextprobe.board import Board
from nextprobe.diagnosis import Case, say_move
from nextprobe.workbench.events import Event
from nextprobe.workbench.knowledge import Knowledge
from nextprobe.workbench.move_json import move_from_json
from nextprobe.workbench.record import JobRecord


@dataclass(frozen=True)
class Overview:
    """Where a job stands.

    Parameters
    ----------
    device, complaint, says : str
    complaint_title : str
        What fails, for people.
    history : tuple of str
    may_wipe, may_unpair : bool
    ceiling : float or None
        [currency]
    currency : str
    spent : float
        On time, parts and expected harm so far [currency].
    pack : str
        Where the pack came from.
    pack_hash : str
    knowledge : str
        What is known of the board, in words.
    parts, nets, references : int
        How much that is.
    fitted : mapping of str to str
        Which instance of each module is fitted.
    opened : str
        How far the device is taken apart.
    working : bool or None
        What the last check of the complaint said; None if something was done since.
    ending : str
        How the job ended; empty while it goes on.
    events : int
        How many the log holds.
    """

    device: str
    complaint: str
    says: str
    complaint_title: str
    history: tuple[str, ...]
    may_wipe: bool
    may_unpair: bool
    ceiling: float | None
    currency: str
    spent: float
    pack: str
    pack_hash: str
    knowledge: str
    parts: int
    nets: int
    references: int
    fitted: Mapping[str, str] = field(hash=False)
    opened: str
    working: bool | None
    ending: str
    events: int


@dataclass(frozen=True)
class LogLine:
    """An event in words.

    Parameters
    ----------
    event : int
        Its number.
    time : float
        [s since the epoch]
    kind : str
    step : str
        Id of the step, where there is one.
    said : tuple of str
        In words.
    supersedes : int or None
        Which event it corrects or withdraws.
    stands : bool
        Whether it counts.
    """

    event: int
    time: float
    kind: str
    step: str
    said: tuple[str, ...]
    supersedes: int | None
    stands: bool


def overview(record: JobRecord, known: Knowledge, case: Case, events: int) -> Overview:
    """Return where a job stands."""
    intake, configuration = record.intake, case.situation.configuration
    board = known.board
    return Overview(
        intake.device,
        intake.complaint,
        intake.says,
        known.pack.functions[intake.complaint].title,
        intake.history,
        intake.may_wipe,
        intake.may_unpair,
        intake.ceiling,
        known.pack.costs.currency,
        case.situation.spent,
        record.package.source,
        record.package.hash,
        _say_knowledge(board, len(case.references)),
        len(board.parts) if board is not None else 0,
        len(board.nets) if board is not None else 0,
        len(case.references),
        configuration.fitted,
        configuration.opened,
        case.situation.working,
        record.closing.ending if record.closing is not None else "",
        events,
    )


def _say_knowledge(board: Board | None, references: int) -> str:
    if board is None:
        return "the complaint alone; no board yet"
    sketched = [part for part in board.parts if part.implied]
    source = "a sketch from a pinout" if len(sketched) * 2 >= len(board.parts) else "a board"
    return (
        f"{source} of {len(board.parts)} parts and {len(board.nets)} nets, "
        f"{references} known-good readings"
    )


def log_line(event: Event, standing: frozenset[int]) -> LogLine:
    """Return an event in words."""
    data = event.payload
    said = _SAID.get(event.kind, _nothing)(data)
    step = str(data.get("step", data.get("ending", "")))
    stands = event.number in standing
    return LogLine(event.number, event.time, event.kind, step, said, event.supersedes, stands)


def _nothing(_data: Mapping[str, Any]) -> tuple[str, ...]:
    return ()


def _moves(data: Mapping[str, Any]) -> tuple[str, ...]:
    said = tuple(say_move(move_from_json(move)) for move in data["moves"])
    return (*said, f"code {data['code']}") if data.get("code") else said


def _started(data: Mapping[str, Any]) -> tuple[str, ...]:
    return (f"{data['device']}: {complaint_title(data)} does not work", *data["history"])


def complaint_title(started: Mapping[str, Any]) -> str:
    """Return what fails, for people, by the payload of the first event of a job."""
    complaint = str(started["complaint"])
    functions = started.get("pack", {}).get("functions", {})
    return str(functions.get(complaint, {}).get("title") or complaint)


_SAID: Mapping[str, Callable[[Mapping[str, Any]], tuple[str, ...]]] = {
    "started": _started,
    "pinout added": lambda data: (f"{len(data['pins'])} pins",),
    "chains added": lambda data: tuple(str(data["text"]).strip().splitlines()),
    "role set": lambda data: (f"{data['point']} is {data['role']}",),
    "moves recorded": _moves,
    "note": lambda data: (str(data["text"]),),
    "photo added": lambda data: (f"photo: {data['caption']}" if data["caption"] else "photo",),
    "closed": lambda data: (str(data["ending"]),),
}
