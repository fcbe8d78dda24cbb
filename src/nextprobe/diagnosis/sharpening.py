"""What readings so far tell of readings to come: how this board deviates.

Readings deviate together, so each one tells how the board lies at the points that it has not been
read at. What it tells depends on what is thought to be wrong: if a fault moved the reading, it says
less of the rest. Worlds that explain all readings so far in the same way therefore share one belief
about the deviations (:class:`~nextprobe.belief.JointBranches`), and a column says which it is.

The order of readings matters only as far as unlikely branches are dropped: by 0.3 % of belief at
most in 25 jobs of which every fourth reading was erratic.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble, JointBranches, JointModel, SharedDeviation
from nextprobe.belief.codes import numbered
from nextprobe.board import OverRange
from nextprobe.diagnosis.predicted import Expectation
from nextprobe.diagnosis.situation import READ_AS, Situation

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

_BRANCHES = 12
_LEAST_SHARE = 1e-5
# Branches that hold less of the belief as a whole are dropped.
_LEAST_CHANCE = 1e-6
# Nothing is learned in worlds that are less likely, nor from readings that hardly are as predicted.
_NEGLIGIBLE = 1e-6
_STRAYED = 1e-3


@dataclass(frozen=True, eq=False)
class Sharpened:
    """A prediction as it stands after the readings so far.

    Parameters
    ----------
    expectation : Expectation
        A row for each branch of each kind of world, and the healthy board at first as the last.
    branches : JointBranches
        What is known of the deviations, by kind of world.
    kind : ndarray of int, shape (R,)
        Of each world: those of one kind have read alike so far and predict the same.
    history : ndarray of int, shape (K,)
        The code of :data:`READ_AS` that the worlds of each kind have.
    before : JointModel
        What was predicted of the reading under each branch before any reading, (B, 1).
    """

    expectation: Expectation
    branches: JointBranches
    kind: IntArray
    history: IntArray
    before: JointModel

    def by_world(self, log_terms: FloatArray) -> FloatArray:
        """Return log densities by world, (R,), from those by row of the prediction, (B + 1,)."""
        return self.branches.summed(log_terms[:-1])[self.kind]

    def chances(self, ensemble: Ensemble) -> FloatArray:
        """Return the chance of each row of the prediction, shape (B + 1,); none of the last."""
        count = self.branches.groups
        by_kind = np.bincount(self.kind, ensemble.probabilities, count)
        return np.append(by_kind[self.branches.group] * self.branches.shares, 0.0)


def sharpened(expectation: Expectation, situation: Situation, rows: IntArray) -> Sharpened | None:
    """Return a prediction as it stands after the readings so far; None if it shares nothing.

    Parameters
    ----------
    expectation : Expectation
        As it was before any reading.
    situation : Situation
    rows : ndarray of int, shape (R,)
        Row of it that holds in each world now.
    """
    if not expectation.common.any():
        return None
    rank = len(expectation.common)
    before = situation.deviating or _nothing_read(rank)
    code = situation.ensemble.columns.get(READ_AS, np.zeros(len(rows), dtype=np.intp))
    first, kinds = expectation.kinds
    pairs, kind = numbered(code * len(first) + kinds[rows])
    history, of_kind = np.divmod(pairs, len(first))
    branches = before.select(history)
    by_branch = first[of_kind][branches.group]
    model = _model(expectation, by_branch)
    mean, deviation = branches.state.predicted(model)
    sharp = expectation.sharpened(by_branch, mean[:, 0], deviation[:, 0])
    return Sharpened(sharp, branches, kind, history, model)


def as_now(expectation: Expectation, situation: Situation, rows: IntArray) -> Expectation:
    """Return a prediction with the same rows, as each stands after the readings so far.

    A row that no world has now, as that of a cured fault, is taken with what the likeliest worlds
    have learned.

    Parameters
    ----------
    expectation, situation, rows
        As of :func:`sharpened`.
    """
    known = situation.deviating
    if known is None or not expectation.common.any():
        return expectation
    code = situation.ensemble.columns[READ_AS]
    chances = situation.ensemble.probabilities
    history = np.full(len(expectation.mean), np.bincount(code, chances).argmax())
    order = np.argsort(chances, kind="stable")
    history[rows[order]] = code[order]
    model = _model(expectation, np.arange(len(history)))
    mean, deviation = known.select(history).predicted(model)
    over = expectation.over
    return replace(
        expectation,
        mean=np.where(over, expectation.mean, mean[:, 0]),
        deviation=np.where(over, expectation.deviation, deviation[:, 0]),
    )


def learned(
    found: Sharpened,
    situation: Situation,
    value: float | OverRange,
    touches: int,
    told: BoolArray,
) -> Situation:
    """Return the situation with what a reading tells of the deviations.

    Parameters
    ----------
    found : Sharpened
        The prediction of that reading before it was taken.
    situation : Situation
        The reading itself already weighed.
    value : float or OverRange
        What was read [V].
    touches : int
        How many separate touches agree on it.
    told : ndarray of bool, shape (R,)
        Worlds in which the reading says something that an earlier one did not.
    """
    number = None if isinstance(value, OverRange) else value
    sharp, branches = found.expectation, found.branches
    log_all = sharp.log_likelihood(value, touches)[:-1]
    ways = sharp.log_held(value, touches)[:, :-1]
    log_held = np.logaddexp(*ways)
    telling = _telling(found, situation.ensemble, np.exp(log_held - log_all))
    key = np.where(telling[found.kind] & told, found.kind, len(telling) + found.history[found.kind])
    keys, code = numbered(key)
    pair = np.zeros(len(keys), dtype=np.intp)
    pair[code] = found.kind
    kept = branches.select(pair)
    idle = (keys >= len(telling))[kept.group]
    place = branches.rows_of(pair)
    more = (np.zeros_like(log_all), sharp.odd_deviation[:-1])
    looks = [kept.state.look(_looked_at(found, place, idle, odd), 0, number) for odd in more]
    log_strayed = _difference(log_all[place], log_held[place])
    ensemble = situation.ensemble.assign(READ_AS, code)
    by_history = np.bincount(code, ensemble.probabilities, len(keys))
    least = _least_shares(by_history.astype(np.float64))
    after = kept.branched(looks, ways[:, place], log_strayed, idle, least)
    return situation.with_deviating(ensemble, after)


def _least_shares(chances: FloatArray) -> FloatArray:
    """Return the share of each history below which its branches are dropped, by its chance."""
    return np.clip(_LEAST_CHANCE / np.maximum(chances, _LEAST_CHANCE), _LEAST_SHARE, 1.0)


def _nothing_read(rank: int) -> JointBranches:
    shared = SharedDeviation(np.zeros(0), np.zeros((0, rank)), np.zeros(0))
    return JointBranches.before(1, shared, _BRANCHES, _LEAST_SHARE)


def _model(expectation: Expectation, rows: IntArray) -> JointModel:
    """Return the joint model of one reading under some rows, before any reading, (B, 1)."""
    inherit = np.broadcast_to(expectation.inherit, expectation.mean.shape)[rows]
    shared = SharedDeviation(np.zeros(1), expectation.common[None], np.zeros(1))
    return JointModel(
        shared,
        expectation.mean[rows, None],
        inherit[:, None],
        expectation.own_deviation[rows, None],
        over=expectation.over[rows, None],
        limit=expectation.meter.full_scale,
    )


def _looked_at(found: Sharpened, place: IntArray, idle: BoolArray, odd: FloatArray) -> JointModel:
    """Return the model of the reading under some branches: it moves nothing where idle.

    A step of magnitudes counts as a normal deviation of the same variance; `odd`, shape (B,), is
    what an odd board deviates by on top.
    """
    one, step = found.before, found.expectation.step[:, :-1].sum(axis=0)
    wide = np.hypot(step / np.sqrt(12.0), odd)
    widened = np.hypot(one.deviation[:, 0], wide)[place, None]
    inherit = np.where(idle[:, None], 0.0, one.inherit[place])
    return JointModel(
        one.shared, one.mean[place], inherit, widened, over=one.over[place], limit=one.limit
    )


def _telling(found: Sharpened, ensemble: Ensemble, share: FloatArray) -> BoolArray:
    """Return which kinds of worlds are likely enough, and read as predicted, to learn from it."""
    branches = found.branches
    by_kind = np.bincount(found.kind, ensemble.probabilities, branches.groups)
    moved = ~found.before.over[:, 0] & (found.before.inherit[:, 0] > 0.0)
    held = np.bincount(branches.group, branches.shares * share * moved, branches.groups)
    return np.asarray((by_kind > _NEGLIGIBLE) & (held > _STRAYED))


def _difference(log_whole: FloatArray, log_part: FloatArray) -> FloatArray:
    """Return the log of a difference of exponentials, minus infinity where there is none."""
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = np.log(-np.expm1(np.minimum(log_part - log_whole, 0.0)))
        return np.where(np.isneginf(log_whole), -np.inf, log_whole + rest)
