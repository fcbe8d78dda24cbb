"""What each piece of evidence says of each candidate, in whatever order the evidence came.

Readings deviate together, so that what one adds depends on those before it. Here each says what it
says alone, and what all between two changes say together beyond that is a piece of its own.
"""

from __future__ import annotations

from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.ensemble import Ensemble
from nextprobe.diagnosis.acts import Probe
from nextprobe.diagnosis.evidence import Gathered, foreseen, told_by
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.replay import Replayed
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

# No piece counts for more than this, so that another may still make up for it [nat].
_MOST = 50.0


class Piece(NamedTuple):
    """One piece of evidence.

    Parameters
    ----------
    told : ndarray, shape (H,)
        Log likelihood of it under each candidate, bounded.
    moved : ndarray of bool, shape (H,), or None
        Which candidates move the reading; None if it is none.
    """

    told: FloatArray
    moved: BoolArray | None = None


def pieces(replayed: Replayed) -> list[Piece]:
    """Return the pieces of all evidence.

    Parameters
    ----------
    replayed : Replayed
        In the order of :func:`~nextprobe.diagnosis.replay.in_order`, under a model with no sets
        of several listed.
    """
    model, trail = replayed.model, replayed.trail
    found: list[Piece] = []
    places = range(len(replayed.moves))
    for readings, run in groupby(places, lambda at: isinstance(replayed.moves[at].act, Probe)):
        block = list(run)
        if not readings:
            found += [_change(model, trail[place], trail[place + 1]) for place in block]
            continue
        seen = [replayed.gathered[place] for place in block if place in replayed.gathered]
        alone = [_alone(model, trail[block[0]], each) for each in seen if foreseen(model, each)]
        found += alone
        if len(alone) > 1:
            whole = _difference(model, trail[block[0]], trail[block[-1] + 1])
            found.append(_beyond(whole, alone))
    return found


def log_by_hypothesis(ensemble: Ensemble, count: int) -> FloatArray:
    """Return the log weight of all worlds of each of some hypotheses, shape (count,)."""
    weights, hypothesis = ensemble.log_weights, ensemble.columns[HYPOTHESIS]
    greatest = np.full(count, -np.inf)
    np.maximum.at(greatest, hypothesis, weights)
    shift = np.where(np.isfinite(greatest), greatest, 0.0)
    sums = np.bincount(hypothesis, np.exp(weights - shift[hypothesis]), count)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(sums) + shift)


def _change(model: Model, before: Situation, after: Situation) -> Piece:
    return Piece(_bounded(_difference(model, before, after)))


def _difference(model: Model, before: Situation, after: Situation) -> FloatArray:
    with np.errstate(invalid="ignore"):
        return log_by_candidate(model, after) - log_by_candidate(model, before)


def log_by_candidate(model: Model, situation: Situation) -> FloatArray:
    """Return the log weight of each candidate alone, shape (H,)."""
    if None not in situation.told:
        situation.told[None] = log_by_hypothesis(situation.ensemble, len(model.listed))
    return situation.told[None]


def _alone(model: Model, before: Situation, seen: Gathered) -> Piece:
    """Return what a reading says by itself of what was wrong before it and others were taken."""
    if seen not in before.told:
        weighed = before.ensemble.condition(told_by(model, before, seen))
        after = log_by_hypothesis(weighed, len(model.listed))
        with np.errstate(invalid="ignore"):
            before.told[seen] = _bounded(after - log_by_candidate(model, before))
    assert model.expectations is not None
    every = np.arange(len(model.listed))
    expectation = model.expectations.at(seen.point, seen.setup)
    return Piece(before.told[seen], expectation.differs(every, np.full_like(every, len(every))))


def _beyond(whole: FloatArray, alone: list[Piece]) -> Piece:
    told = whole - np.sum([piece.told for piece in alone], axis=0)
    told = np.clip(np.where(np.isfinite(whole), told, 0.0), -_MOST, _MOST)
    return Piece(told)


def _bounded(told: FloatArray) -> FloatArray:
    """Return likelihoods of which none rules a candidate out for good."""
    return np.where(np.isfinite(told), np.maximum(told, -_MOST), -_MOST)
