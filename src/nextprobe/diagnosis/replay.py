"""The situations that a list of moves leads through."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nextprobe.diagnosis.acts import FAILED, Check, Fit, Gauge, Move, Probe, Refresh, Work
from nextprobe.diagnosis.codes import accept_code
from nextprobe.diagnosis.costs import charges, made_ready
from nextprobe.diagnosis.evidence import Gathered, accept_reading, gather
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.supply import accept_current
from nextprobe.diagnosis.transitions import accept


@dataclass(frozen=True, eq=False)
class Replayed:
    """What a list of moves led through under one model.

    Parameters
    ----------
    model : Model
    moves : tuple of Move, length E
    gathered : mapping of int to Gathered
        What the readings amount to, by the place of the first of each group; of later ones too.
    trail : tuple of Situation, length E + 1
        At the start and after each move.
    """

    model: Model
    moves: tuple[Move, ...]
    gathered: Mapping[int, Gathered]
    trail: tuple[Situation, ...]

    def with_moves(self, moves: Sequence[Move], most: int | None = None) -> Replayed:
        """Return the same for other moves; as far as they agree, nothing is done again.

        Parameters
        ----------
        moves : sequence of Move
        most : int or None
            How many of them to go through; all if None.
        """
        gathered = _gathered(self.model, moves)
        reached = tuple(moves[:most])
        same = 0
        while (
            same < min(len(reached), len(self.moves))
            and moves[same] == self.moves[same]
            and gathered.get(same) == self.gathered.get(same)
        ):
            same += 1
        trail = list(self.trail[: same + 1])
        for place in range(same, len(reached)):
            trail.append(_moved(self.model, trail[-1], moves[place], gathered.get(place)))
        return Replayed(self.model, reached, gathered, tuple(trail))


def started(model: Model) -> Replayed:
    """Return where a job starts, before any move."""
    return Replayed(model, (), {}, (model.start(),))


def as_they_came(
    known: Replayed, moves: Sequence[Move], other: Replayed
) -> tuple[Replayed, tuple[Situation, ...]]:
    """Return the situations of moves as they came, taken from another order where it leads there.

    Parameters
    ----------
    known : Replayed
        As far as moves were gone through before, as they came.
    moves : sequence of Move, length E
    other : Replayed
        The same moves in another order, and perhaps under another model.

    Returns
    -------
    gone : Replayed
        The moves that had to be gone through.
    trail : tuple of Situation, length E + 1
    """
    if other.model is known.model:
        parted = _parted(moves, other.moves)
        gone = known.with_moves(moves, parted)
        if _alike(gone.trail[-1], other.trail[parted]):
            return gone, gone.trail + other.trail[parted + 1 :]
    gone = known.with_moves(moves)
    return gone, gone.trail


def _parted(moves: Sequence[Move], others: Sequence[Move]) -> int:
    """Return the place from which on two orders of moves are the same."""
    place = len(moves)
    while place and moves[place - 1] == others[place - 1]:
        place -= 1
    return place


def _alike(one: Situation, other: Situation) -> bool:
    """Tell whether all but beliefs is the same: those do not depend on the order."""
    return one.certain == other.certain and math.isclose(one.spent, other.spent)


def replay(model: Model, moves: Sequence[Move]) -> tuple[Situation, ...]:
    """Return the situation at the start and after each move."""
    return started(model).with_moves(moves).trail


def _gathered(model: Model, moves: Sequence[Move]) -> dict[int, Gathered]:
    return gather(moves, model.expectations) if model.expectations is not None else {}


def _moved(model: Model, situation: Situation, move: Move, seen: Gathered | None) -> Situation:
    opened = made_ready(model.pack, situation.configuration, move.act)
    spent = charges(model, situation.configuration, (move.act,), situation.tried)
    situation = replace(situation, configuration=opened, spent=situation.spent + spent)
    if isinstance(move.act, Probe):
        return situation if seen is None else accept_reading(model, situation, seen)
    if isinstance(move.act, Gauge):
        return accept_current(model, situation, move.act.stage, float(move.result))
    if isinstance(move.act, Refresh) and move.code:
        situation = accept_code(model, situation, move.act.name, move.code)
    return accept(model, situation, move.act, move.result)


def in_order(moves: Sequence[Move]) -> list[Move]:
    """Return moves with the evidence between two changes in an order of its own.

    However the evidence came, each piece then says the same of every candidate. Readings stay in
    the order they came in: what one says does not depend on the others.
    """
    ordered: list[Move] = []
    waiting: list[Move] = []
    for move in moves:
        if isinstance(move.act, Fit | Work) or _refreshes(move):
            ordered += [*sorted(waiting, key=_name), move]
            waiting = []
        else:
            waiting.append(move)
    return ordered + sorted(waiting, key=_name)


def _refreshes(move: Move) -> bool:
    return isinstance(move.act, Refresh) and move.result != FAILED


def _name(move: Move) -> tuple[bool, str]:
    if isinstance(move.act, Probe):
        return True, ""
    return False, repr(move.act) + (move.result if isinstance(move.act, Check) else "")
