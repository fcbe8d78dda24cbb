"""What an event should have said instead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nextprobe.board import OverRange
from nextprobe.diagnosis import Move, Probe, Work
from nextprobe.diagnosis.lifting import LIFT
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.errors import MisuseError
from nextprobe.workbench.draft import Draft, moves_draft, note_draft
from nextprobe.workbench.events import Event
from nextprobe.workbench.intake import check_intake, start_to_json
from nextprobe.workbench.move_json import move_from_json
from nextprobe.workbench.outcomes import (
    Outcome,
    Result,
    free_work,
    many_touches,
    outcome_of,
    run_touches,
    touch,
)
from nextprobe.workbench.record import CHAINS, MOVES, NOTE, PINOUT, ROLE, STARTED, JobRecord
from nextprobe.workbench.teaching import chains_draft, pinout_draft, role_draft
from nextprobe.workbench.texts import TextReaders
from nextprobe.workbench.view import JobView


def intake_draft(record: JobRecord, changes: Mapping[str, Any]) -> Draft:
    """Return the start of a job with some fields of its intake changed.

    Raises
    ------
    MisuseError
        If the pack can not serve it, or nothing is changed.
    """
    if not changes:
        raise MisuseError("say which field of the intake is to change, and to what")
    intake = record.intake.changed(**changes)
    check_intake(intake, record.package.pack)
    said = tuple(f"{name}: {value}" for name, value in changes.items())
    return Draft(STARTED, start_to_json(intake, record.package), said=said)


def amended(view: JobView, readers: TextReaders, event: Event, result: Result) -> Draft:
    """Return an event as it should have been, at the moment when it was recorded.

    Raises
    ------
    DataError
        If the result is none of the step, or no reading.
    MisuseError
        If events of this kind are not corrected but withdrawn.
    """
    if event.kind == MOVES:
        return _redone(view, event, result)
    text = str(result)
    if event.kind == NOTE:
        return note_draft(text)
    if event.kind == PINOUT:
        return pinout_draft(text, str(event.payload["connector"]), readers.pinout)
    if event.kind == CHAINS:
        return chains_draft(text, view.case_before(event.number).brief.board, readers.chains)
    if event.kind == ROLE:
        return role_draft(str(event.payload["point"]), text, view.knowledge.board)
    raise MisuseError(f"event {event.number} ({event.kind}) is not corrected: withdraw it")


def _redone(view: JobView, event: Event, result: Result) -> Draft:
    payload = event.payload
    moves = [move_from_json(move) for move in payload["moves"]]
    step = str(payload["step"])
    return moves_draft(step, _outcome(view, event.number, step, moves, result))


def _outcome(view: JobView, number: int, step: str, moves: list[Move], result: Result) -> Outcome:
    case = view.case_before(number)
    first = moves[0]
    lifts = step.startswith(f"{LIFT}:")
    if isinstance(first.act, Work) and not lifts and step not in case.model.work_by_id:
        return free_work(case, first.act.name, first.act.place, str(result))
    reading = first.reading
    if not isinstance(first.act, Probe) or reading is None:
        return outcome_of(case, step, result)
    device, mode, time = first.act.device, reading.setup.mode, reading.time
    if not isinstance(result, str | int | float | OverRange):
        touches = run_touches(case, step, result)
        return many_touches(case, touches, device=device, mode=mode, time=time)
    place = Measurement(first.act.point, reading.setup).place
    if len(moves) > 1:
        raise MisuseError(f"event {number} holds {len(moves)} readings: give a value for each pin")
    return touch(case, place, result, device=device, mode=mode, time=time)
