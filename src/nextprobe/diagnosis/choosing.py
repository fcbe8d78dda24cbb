"""Which sets of several faults are worth listing, given all evidence at once.

There are too many sets to weigh them all. How well a set explains a piece of evidence is first
estimated by the member that it concerns; the sets that come out best are then weighed exactly. What
is chosen depends on the whole evidence and not on its order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.ensemble import log_sum
from nextprobe.diagnosis.acts import Move
from nextprobe.diagnosis.fault_sets import closed
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.pieces import log_by_hypothesis
from nextprobe.diagnosis.replay import Replayed
from nextprobe.diagnosis.set_estimate import SetEstimate
from nextprobe.diagnosis.situation import HYPOTHESIS

FloatArray = NDArray[np.float64]

LARGEST_SET = 3
_BUDGET = 300
# Sets are listed where they hold more than this part of the belief; each must hold its part.
_WORTH_LISTING = 0.05
_WORTH_KEEPING = 5e-4
# They are weighed exactly where an estimate gives them more than this.
_WORTH_WEIGHING = 0.05
# Estimates are mostly far too high. So many of the best are weighed first; where what they tell of
# all stays below this part of what is worth listing, the others are not weighed.
_SAMPLE = 40
_SURELY_LITTLE = 0.5


@dataclass(frozen=True, eq=False)
class Chosen:
    """Sets of several faults that are listed besides the single ones.

    Parameters
    ----------
    sets : tuple of tuple of int
        Candidates of each, likeliest first to within a factor of two.
    prior : ndarray, shape (C,)
    omitted : float
        Estimate of the part of the belief that sets hold which are not listed, from 0 to 1; a
        half or more says nothing.
    """

    sets: tuple[tuple[int, ...], ...]
    prior: FloatArray
    omitted: float


def choose_sets(replayed: Replayed, largest: int = LARGEST_SET) -> Chosen:
    """Choose the sets that have enough prior and likelihood to count.

    Parameters
    ----------
    replayed : Replayed
        All evidence, in the order of :func:`~nextprobe.diagnosis.replay.in_order`, under a model
        with no sets of several listed.
    largest : int
        Largest number of faults at once, 1 to 3.
    """
    model, moves = replayed.model, replayed.moves
    if largest < 2 or model.together is None or not model.together.chances.size:
        return Chosen((), np.zeros(0), 0.0)
    estimate = SetEstimate(replayed)
    if estimate.pairs_share < _WORTH_WEIGHING:
        return Chosen((), np.zeros(0), estimate.pairs_share)
    sets, weights, unlisted = estimate.best(largest, _BUDGET)
    scale = weights.sum() / max(float(weights[:_SAMPLE].sum()), 1e-300)
    _, sample = _weighed(estimate, model, moves, sets[:_SAMPLE])
    share = float(sample.sum()) * scale
    if share < _SURELY_LITTLE * _WORTH_LISTING:
        return Chosen((), np.zeros(0), min(1.0, unlisted + share))
    tried, chances = _weighed(estimate, model, moves, sets)
    return _kept(model, tried, chances, unlisted)


def _weighed(
    estimate: SetEstimate, model: Model, moves: Sequence[Move], sets: list[tuple[int, ...]]
) -> tuple[tuple[tuple[int, ...], ...], FloatArray]:
    """Return sets with all their subsets of several, and the exact chance of each.

    What a set weighs does not depend on which others are listed: single faults, weighed already,
    are left out of the replay, but for the likeliest, so that something is left that is possible.
    """
    tried = closed(sets)
    whole = model.with_sets(tried, _priors(model, tried))
    start = whole.start()
    hypothesis = start.ensemble.columns[HYPOTHESIS]
    wanted = (hypothesis >= len(model.listed)) | (hypothesis == estimate.leading)
    alone = replace(start, ensemble=start.ensemble.selected(wanted))
    last = Replayed(whole, (), {}, (alone,)).with_moves(moves).trail[-1].ensemble
    weights = log_by_hypothesis(last, len(whole.sets))[len(model.listed) :]
    # Where sets are listed, single faults have that much less of the prior.
    left = whole.whole_prior[estimate.leading] / model.whole_prior[estimate.leading]
    every = np.logaddexp(estimate.log_evidence + np.log(left), log_sum(weights))
    return tried, np.exp(weights - every)


def _kept(
    model: Model, tried: tuple[tuple[int, ...], ...], chances: FloatArray, omitted: float
) -> Chosen:
    """Return the sets that count among those that were weighed."""
    alone = 1.0 - float(chances.sum())
    unlisted = omitted * alone
    if chances.sum() < _WORTH_LISTING:
        return Chosen((), np.zeros(0), min(1.0, unlisted + float(chances.sum())))
    with np.errstate(divide="ignore"):
        octaves = np.round(np.log2(chances))
    # In finer steps the order of the evidence would show.
    order = sorted(range(len(tried)), key=lambda index: (-octaves[index], tried[index]))[:_BUDGET]
    kept = closed([tried[index] for index in order if chances[index] > _WORTH_KEEPING])
    dropped = [chance for chosen, chance in zip(tried, chances, strict=True) if chosen not in kept]
    return Chosen(kept, _priors(model, kept), min(1.0, unlisted + float(sum(dropped))))


def _priors(model: Model, sets: Sequence[tuple[int, ...]]) -> FloatArray:
    assert model.together is not None
    return np.array([model.together.priors(np.array([chosen]))[0] for chosen in sets])
