"""Every way in which a few of many readings stray, summed up exactly.

Readings that share nothing with the others under a group (over-range as a state, or ``inherit``
zero) are summed over straying or not exactly, whatever their number; of the others only the sets
up to a size, by the formulas of :mod:`nextprobe.belief.joint_left_out`. That is for the odd slip.
Where three readings may well stray, a sum that stops at two can be short by thousands of units of
log density: :mod:`nextprobe.belief.joint_many` is for those.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_alone import Alone, alone
from nextprobe.belief.joint_left_out import JointNumbers, LeftOut, joint_numbers, left_out
from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_stray import Stray
from nextprobe.belief.joint_tail import log_all_beyond
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]
_LOG_TWO_PI = math.log(2.0 * math.pi)
_BLOCK = 2**21


@dataclass(frozen=True, eq=False)
class EnumeratedStrays:
    """The sum over the ways in which at most a few readings stray.

    Parameters
    ----------
    log_kept : ndarray, shape (G,)
        Logarithm of the joint density of the readings together with at most that many straying.
    log_prior_kept : ndarray, shape (G,)
        Logarithm of the chance that no more stray, before anything is seen.
    log_rest_bound : ndarray, shape (G,)
        Logarithm of an upper bound on what more straying readings would add to the density:
        chance times the greatest density that any readings could have. It is far from tight with
        many readings; above `log_kept` it says nothing.
    strayed : ndarray, shape (G, n)
        Chance that each reading strayed, given all of them and the group.
    """

    log_kept: FloatArray
    log_prior_kept: FloatArray
    log_rest_bound: FloatArray
    strayed: FloatArray

    @property
    def log_density(self) -> FloatArray:
        """Log density of the readings given that no more stray than were counted, (G,).

        A proper density. Where many readings may stray (`log_prior_kept` far below zero), take
        :func:`nextprobe.belief.joint_many.filter_strays` instead.
        """
        return self.log_kept - self.log_prior_kept

    @property
    def vacuous(self) -> BoolArray:
        """Where the bound on the rest says nothing, (G,)."""
        return np.asarray(self.log_rest_bound >= self.log_kept)


def enumerate_strays(
    model: JointModel, values: Sequence[float | None], stray: Stray, most: int = 2
) -> EnumeratedStrays:
    """Return the density of readings of which a few may stray, summed over which ones do.

    Parameters
    ----------
    model : JointModel
        Of n readings.
    values : sequence of float or None, length n
        What was seen [unit of the reading]; None is over-range. Over-range where a number is
        predicted counts as in :func:`nextprobe.belief.joint_normal.joint_log_densities`.
    stray : Stray
        Of the same groups and readings.
    most : int
        How many readings that share deviations may stray together; n for all. The work grows
        with the number of such sets, times the square of the number of readings that are over-range
        though a number was predicted.

    Raises
    ------
    MisuseError
        If a value can not be read, the shapes disagree or `most` is negative.
    """
    seen = model.observed(values)
    if stray.chance.shape != model.mean.shape:
        raise MisuseError(f"chances to stray have {stray.chance.shape}, not {model.mean.shape}")
    if most < 0:
        raise MisuseError("no fewer than zero readings can stray")
    model = model.compressed()
    sets = sum(math.comb(model.readings, size) for size in range(most + 1))
    beyond = int(np.isinf(seen).sum())
    step = max(1, _BLOCK // (sets * (1 + min(most, 3)) * (1 + beyond) ** 2))
    parts = [
        _summed(model.select(part), seen, stray.select(part), most)
        for part in (slice(start, start + step) for start in range(0, model.groups, step))
    ]
    whole = {
        field.name: np.concatenate([getattr(part, field.name) for part in parts])
        for field in fields(EnumeratedStrays)
    }
    return EnumeratedStrays(**whole)


class _Block(NamedTuple):
    """Some of the groups: their model, what was seen, and what straying there does."""

    model: JointModel
    seen: FloatArray
    stray: Stray
    apart: Alone
    odds: FloatArray

    @property
    def numbers(self) -> IntArray:
        return np.flatnonzero(np.isfinite(self.seen))

    @property
    def beyond(self) -> IntArray:
        return np.flatnonzero(np.isinf(self.seen))


def _summed(model: JointModel, seen: FloatArray, stray: Stray, most: int) -> EnumeratedStrays:
    apart = alone(model, seen, stray)
    odds = np.where(apart.which, -math.inf, stray.log_strayed - apart.log_held)
    block = _Block(model, seen, stray, apart, odds)
    joint = joint_numbers(model.without(apart.which), seen, block.numbers, block.beyond)
    total, by_set = np.full(model.groups, -math.inf), []
    for members, terms in _terms(block, joint, most):
        inside = np.zeros((len(members), model.readings))
        np.put_along_axis(inside, members, 1.0, axis=1)
        by_set.append((terms, inside))
        total = np.logaddexp(total, np.logaddexp.reduce(terms, axis=1))
    safe = np.where(total > -math.inf, total, 0.0)[:, None]
    strayed = apart.strayed + sum(np.exp(terms - safe) @ inside for terms, inside in by_set)
    base = apart.log_density + _log_all_held(apart)
    best = joint.log_density + 0.5 * joint.square + _log_rest(block, most)
    return EnumeratedStrays(base + total, _log_prior(block, most), base + best, strayed)


def _terms(block: _Block, joint: JointNumbers, most: int) -> Iterator[tuple[IntArray, FloatArray]]:
    """Yield sets of straying readings of one size each, (C, m), and their log terms, (G, C)."""
    numbers, beyond = block.numbers, block.beyond
    for size in range(min(most, len(numbers)) + 1):
        sets = _sets(len(numbers), size)
        without = left_out(joint, sets)
        chosen = block.odds[:, numbers][:, sets].sum(axis=2)
        terms = joint.log_density[:, None] + chosen - without.log_density
        for count in range(min(most - size, len(beyond)) + 1):
            for slipped in _sets(len(beyond), count):
                columns = beyond[slipped]
                members = np.hstack([numbers[sets], np.tile(columns, (len(sets), 1))])
                also = block.odds[:, columns].sum(axis=1)[:, None]
                yield members, terms + also + _log_beyond(block, joint, without, slipped)


def _log_beyond(
    block: _Block, joint: JointNumbers, without: LeftOut, slipped: IntArray
) -> FloatArray | float:
    """Return the log chance of the over-range readings that did not slip, (G, C)."""
    if not block.beyond.size:
        return 0.0
    counted = ~block.apart.which[:, block.beyond]
    counted[:, slipped] = False
    spread = joint.covariance[:, None] + without.widening
    return log_all_beyond(
        joint.mean[:, None, :] + without.shift,
        spread[joint.pattern],
        block.model.limit[block.beyond],
        counted[:, None, :],
    )


def _sets(count: int, size: int) -> IntArray:
    """Return all sets of a size, shape (C, size)."""
    found = list(combinations(range(count), size))
    return np.array(found, dtype=np.intp).reshape(len(found), size)


def _log_all_held(apart: Alone) -> FloatArray:
    return np.asarray(np.where(apart.which, 0.0, apart.log_held).sum(axis=1))


def _log_prior(block: _Block, most: int) -> FloatArray:
    """Return the log chance that at most `most` of the readings that share stray, (G,)."""
    with np.errstate(divide="ignore"):
        log_chance = np.log(block.stray.chance)
    odds = np.where(block.apart.which, -math.inf, log_chance - block.apart.log_held)
    return np.asarray(_by_size(odds, most)[0] + _log_all_held(block.apart))


def _log_rest(block: _Block, most: int) -> FloatArray:
    """Return the log bound on sets of more, relative to |2π K|^-½, (G,).

    A set S leaves a density of at most |2π K|^-½ times the product of √(2π K_ii) over S, for
    det K ≤ det K_rest Π K_ii (Fischer's and Hadamard's inequalities); a tail is at most one.
    """
    model = block.model
    variance = model.inherit**2 * (model.shared.factor**2).sum(axis=1) + model.noise
    peak = np.where(np.isinf(block.seen), 0.0, 0.5 * (_LOG_TWO_PI + np.log(variance)))
    return _by_size(block.odds + peak, most)[1]


def _by_size(log_terms: FloatArray, most: int) -> tuple[FloatArray, FloatArray]:
    """Return log sums of products over all sets of up to `most` terms, and of more, each (G,)."""
    sums = np.full((most + 2, len(log_terms)), -math.inf)
    sums[0] = 0.0
    for term in log_terms.T:
        more = np.logaddexp(sums[-1], np.logaddexp(sums[-1], sums[-2]) + term)
        sums[1:-1] = np.logaddexp(sums[1:-1], sums[:-2] + term)
        sums[-1] = more
    return np.logaddexp.reduce(sums[:-1], axis=0), sums[-1]
