"""Entries about to be written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nextprobe.diagnosis import Case, say_move
from nextprobe.diagnosis.acts import ORIGINAL
from nextprobe.diagnosis.options import TERMINAL
from nextprobe.errors import Finding, MisuseError
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.move_json import move_to_json
from nextprobe.workbench.outcomes import Outcome
from nextprobe.workbench.record import CLOSED, MOVES, NOTE

_ENDINGS = {
    "close": "closed and handed over",
    "decline": "declined",
    "escalate": "handed on to an open-ended search",
}


@dataclass(frozen=True)
class Draft:
    """An event that has not been written yet.

    Parameters
    ----------
    kind : str
    payload : mapping
        Plain JSON.
    step : str
        Id of the step, where there is one.
    said : tuple of str
        In words.
    findings : tuple of Finding
        What was left out, or is worth saying.
    """

    kind: str
    payload: Mapping[str, JsonValue]
    step: str = ""
    said: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def moves_draft(step: str, outcome: Outcome) -> Draft:
    """Return the entry of something that was done."""
    payload: dict[str, JsonValue] = {
        "step": step,
        "moves": [move_to_json(move) for move in outcome.moves],
    }
    if outcome.code:
        payload["code"] = outcome.code
    said = tuple(say_move(move) for move in outcome.moves)
    return Draft(MOVES, payload, step, said, outcome.findings)


def note_draft(text: str) -> Draft:
    """Return the entry of a remark; raises MisuseError if it says nothing."""
    if not text.strip():
        raise MisuseError("an empty note says nothing")
    return Draft(NOTE, {"text": text}, said=(text,))


def closing_draft(case: Case, ending: str) -> Draft:
    """Return the entry that ends a job, with what is handed over in it.

    Raises
    ------
    MisuseError
        If there is no such ending.
    """
    if ending not in TERMINAL:
        raise MisuseError(f"'{ending}' is no ending; one of: {', '.join(sorted(TERMINAL))}")
    fitted = case.situation.configuration.fitted
    kept = [f"{instance} {slot} stays in" for slot, instance in fitted.items()
            if instance != ORIGINAL]  # fmt: skip
    payload: dict[str, JsonValue] = {
        "ending": ending,
        "fitted": [list(item) for item in fitted.items()],
    }
    return Draft(CLOSED, payload, ending, (_ENDINGS[ending], *kept))
