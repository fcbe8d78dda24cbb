"""The observations of a job: moves that were made together and speak as one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nextprobe.diagnosis.acts import FAILS, PATIENT, Check, Fit, Gauge, Look, Move, Probe, Refresh
from nextprobe.diagnosis.evidence import Gathered
from nextprobe.diagnosis.spoken import say_move

READING, KNOWN_GOOD, LOOK, CURRENT = "reading", "known-good reading", "look", "supply current"
TRIAL, REFRESH, REPAIR = "trial", "refresh", "work"
STILL_WORKS, FAILS_TOO, COMPLAINT = "works", "fails", "complaint"


@dataclass(frozen=True)
class Observation:
    """Something that was seen, with what was done for it.

    Parameters
    ----------
    kind : str
        ``reading``, ``known-good reading``, ``look``, ``supply current``, ``trial``, ``refresh``,
        ``work``; of checks with nothing done before: ``complaint`` for the function that the job
        is about, ``works`` or ``fails`` for others.
    title : str
        In words.
    first, last : int
        Places of its moves.
    touches : int
        How many touches of a point speak here, whenever they were made; 0 where they speak with an
        earlier one, or not at all.
    """

    kind: str
    title: str
    first: int
    last: int
    touches: int = 0


def observations(
    moves: Sequence[Move],
    gathered: Mapping[int, Gathered],
    entries: Sequence[int],
    complaint: str,
) -> tuple[Observation, ...]:
    """Return the observations that moves amount to, in order.

    Parameters
    ----------
    moves : sequence of Move, length E
    gathered : mapping of int to Gathered
        What the patient's readings amount to, by the place of the first of each group.
    entries : sequence of int, length E
        Which entry each move belongs to: what was fitted or done in an entry speaks together with
        the check or reading after it.
    complaint : str
        The function that the job is about.
    """
    return tuple(
        _observed(moves, gathered, first, last, complaint) for first, last in _runs(moves, entries)
    )


def _runs(moves: Sequence[Move], entries: Sequence[int]) -> Iterator[tuple[int, int]]:
    first = 0
    for place, move in enumerate(moves):
        answers = isinstance(move.act, Probe | Look | Check | Gauge)
        if answers or place + 1 == len(moves) or entries[place + 1] != entries[place]:
            yield first, place
            first = place + 1


def _observed(
    moves: Sequence[Move],
    gathered: Mapping[int, Gathered],
    first: int,
    last: int,
    complaint: str,
) -> Observation:
    done = list(moves[first : last + 1])
    seen = gathered.get(last)
    if seen is not None and done[-1].reading is not None:
        done[-1] = replace(done[-1], reading=replace(done[-1].reading, value=seen.value))
    touches = seen.touches if seen is not None else 0
    often = f", {touches} touches" if touches > 1 else ""
    title = "; ".join(say_move(move) for move in done) + often
    return Observation(_kind(done, complaint), title, first, last, touches)


def _kind(done: Sequence[Move], complaint: str) -> str:
    last = done[-1]
    match last.act:
        case Probe(_, device):
            return READING if device == PATIENT else KNOWN_GOOD
        case Look():
            return LOOK
        case Gauge():
            return CURRENT
    for kind, acts in ((TRIAL, Fit), (REFRESH, Refresh)):
        if any(isinstance(move.act, acts) for move in done):
            return kind
    if not isinstance(last.act, Check) or len(done) > 1:
        return REPAIR
    if last.act.function == complaint:
        return COMPLAINT
    return FAILS_TOO if last.result == FAILS else STILL_WORKS
