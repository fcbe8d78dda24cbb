"""How much likelier a fault is for lying near the place where something happened.

The factors are common practice, no published source; wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Board, FaultKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.packs.schema import Pack

# How far what happened at a part reaches [m].
_REACH = 5e-3
_FACTOR = 3.0

_HARMED = {
    "drop": frozenset(
        {
            FaultKind.OPEN,
            FaultKind.JOINT_OPEN,
            FaultKind.BROKEN_NET,
            FaultKind.HIGH_RESISTANCE,
            FaultKind.SEATING,
        }
    ),
    "liquid": frozenset(
        {
            FaultKind.RESIDUE,
            FaultKind.LEAKY,
            FaultKind.SHORT,
            FaultKind.LEAK_TO_GROUND,
            FaultKind.LEAK_TO_RAIL,
            FaultKind.HIGH_RESISTANCE,
        }
    ),
    "earlier work": frozenset(
        {FaultKind.SEATING, FaultKind.BRIDGE, FaultKind.OPEN, FaultKind.JOINT_OPEN}
    ),
}


def nearness(
    pack: Pack, board: Board | None, word: str, listed: Sequence[Candidate]
) -> NDArray[np.float64]:
    """Return the factor on the rate of each candidate for where it lies, shape (H,).

    Faults of a kind that the event brings about are likelier at the parts that the pack names as
    near to it, and within a few millimetres of them where positions are known.

    Parameters
    ----------
    word : str
        What happened.
    listed : sequence of Candidate, length H
    """
    named = pack.nearby.model_dump(by_alias=True).get(word, ())
    kinds = _HARMED.get(word, frozenset())
    close = {part for part in _parts(listed) if _close(board, part, named)}
    return np.array(
        [
            _FACTOR if item.fault.kind in kinds and close.intersection(_ends(item)) else 1.0
            for item in listed
        ]
    )


def _ends(item: Candidate) -> set[str]:
    """Return the parts at which a fault lies."""
    place = item.fault.place
    pins = place.rpartition("/")[2] if item.fault.kind is FaultKind.BROKEN_NET else place
    return {end.partition(".")[0] for end in pins.split("~")}


def _parts(listed: Sequence[Candidate]) -> set[str]:
    return {part for item in listed for part in _ends(item)}


def _close(board: Board | None, part: str, named: Sequence[str]) -> bool:
    if part in named:
        return True
    if board is None or part not in board.by_reference:
        return False
    here = board.part(part).position
    places = [board.part(name).position for name in named if name in board.by_reference]
    return here is not None and any(
        there is not None and dist(here, there) <= _REACH for there in places
    )
