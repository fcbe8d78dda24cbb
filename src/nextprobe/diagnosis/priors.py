"""Prior chances of the candidates: shares of the complaint, history, and rates within a share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Board, FaultKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.effects import site_of
from nextprobe.diagnosis.nearness import nearness
from nextprobe.errors import MisuseError
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Pack

# A drawing is never complete: what is not drawn keeps this part of its share.
_UNDRAWN = 0.1
_SPLIT_KINDS = {
    FaultKind.SEATING,
    FaultKind.DIRT,
    FaultKind.RECOGNITION_STALE,
    FaultKind.FIRMWARE_CORRUPT,
    FaultKind.SETTINGS,
}


def prior_chances(
    pack: Pack,
    board: Board | None,
    complaint: str,
    history: Sequence[str],
    listed: Sequence[Candidate],
) -> NDArray[np.float64]:
    """Return the prior chance of each candidate, given the complaint and what happened.

    The shares of the causes are those among complaints, so the complaint is already in them and
    must not be counted again. Within a share, the chance of a fault is in proportion to its rate
    times the chance that it would have shown itself.

    Parameters
    ----------
    history : sequence of str
        What happened to the device; each multiplies the shares that the pack names.
    listed : sequence of Candidate, length H

    Returns
    -------
    ndarray, shape (H,)
        Sums to one.

    Raises
    ------
    MisuseError
        If the pack does not know a word of the history.
    """
    shares = _shares(pack, complaint, history)
    weights = np.array([_weight(pack, board, complaint, item) for item in listed])
    for word in history:
        weights *= nearness(pack, board, word, listed)
    weights /= _grid_sizes(listed)
    chances = np.zeros(len(listed))
    for cause in Cause:
        of_cause = np.array([item.cause is cause for item in listed])
        located = of_cause & np.array([item.located for item in listed])
        chances += shares.get(cause, 0.0) * _within(weights, located, of_cause & ~located)
    chances *= (1.0 - pack.unlisted) / chances.sum()
    unlisted = np.array([item.cause is None for item in listed])
    chances[unlisted] = pack.unlisted / unlisted.sum()
    return np.asarray(chances / chances.sum())


def _shares(pack: Pack, complaint: str, history: Sequence[str]) -> dict[Cause, float]:
    shares = dict(pack.functions[complaint].causes)
    for word in history:
        if word not in pack.history:
            known = ", ".join(sorted(pack.history))
            raise MisuseError(f"history '{word}' is not one of: {known}")
        for cause, factor in pack.history[word].items():
            shares[cause] = shares.get(cause, 0.0) * factor
    return shares


def _within(
    weights: NDArray[np.float64], located: NDArray[np.bool_], unlocated: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Divide one share over its candidates; sums to one, or to zero if there is none."""
    known, unknown = weights * located, weights * unlocated
    known_sum, unknown_sum = known.sum(), unknown.sum()
    if not known_sum:
        return np.asarray(unknown / unknown_sum) if unknown_sum else unknown
    if not unknown_sum:
        return np.asarray(known / known_sum)
    return np.asarray((1.0 - _UNDRAWN) * known / known_sum + _UNDRAWN * unknown / unknown_sum)


def _grid_sizes(listed: Sequence[Candidate]) -> NDArray[np.float64]:
    counts = Counter(item.fault.family for item in listed)
    return np.array([counts[item.fault.family] for item in listed], dtype=np.float64)


def _weight(pack: Pack, board: Board | None, complaint: str, item: Candidate) -> float:
    fault = item.fault
    rate = _split(pack).get(fault.kind.value, 1.0) if fault.kind in _SPLIT_KINDS else 1.0
    if board is not None and item.located and fault.kind.is_electrical:
        rate = _rate(pack, board, item)
    if fault.kind is FaultKind.EXTERNAL and "/" in fault.place:
        rate = pack.externals[fault.place.partition("/")[2]].share
    for name, factor in pack.rates.weak_spots.items():
        if name in (fault.place, fault.place.partition(".")[0], fault.family):
            rate *= factor
    return rate * item.stops[complaint]


def _split(pack: Pack) -> Mapping[str, float]:
    return {**pack.seating_split, **pack.firmware_split}


def _rate(pack: Pack, board: Board, item: Candidate) -> float:
    """Return the relative rate of an electrical fault within its share.

    Contacts and bridges of a connector share one figure with seating and dirt, so that figure
    is divided over all of them.
    """
    fault = item.fault
    part = site_of(board, fault).part
    if item.cause is Cause.SEATING:
        reference = fault.place.partition("/")[0].partition(".")[0]
        pins = len(board.part(reference).pins)
        return pack.seating_split.get(fault.kind.value, 0.1) / max(pins, 1)
    kind = part.kind.value if part is not None else fault.kind.value
    return pack.rates.by_kind.get(kind, {}).get(fault.kind.value, 1.0)
