"""The situations that a list of moves leads through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nextprobe.diagnosis.acts import FAILED, Check, Fit, Gauge, Move, Probe, Refresh, Work
from nextprobe.diagnosis.codes import accept_code
from nextprobe.diagnosis.costs import charges, made_ready
from nextprobe.diagnosis.evidence import Gathered, accept_reading, gather
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.supply import accept_current
from nextprobe.diagnosis.transitions import accept


def replay(model: Model, moves: Sequence[Move]) -> list[Situation]:
    """Return the situation at the start and after each move."""
    gathered = gather(moves, model.expectations) if model.expectations is not None else {}
    found = [model.start()]
    for place, move in enumerate(moves):
        found.append(_moved(model, found[-1], move, gathered.get(place)))
    return found


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

    However the evidence came, what is computed from this is the same to the last bit. Repeated
    readings of one point stay in the order they came in.
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


def _name(move: Move) -> str:
    return repr(move.act) + (move.result if isinstance(move.act, Check) else "")
