"""Readings of which many may stray, as near residue: the likeliest ways are followed in step.

Each reading splits every way so far in two, straying or not; the likeliest few of each group go
on (the multiple-hypothesis filter: Reid 1979, IEEE Trans. Automatic Control 24, 843-854; for
outliers in normal models Harrison and Stevens 1976, J. Royal Statistical Society B 38, 205-247).
With room for all 2ⁿ it is the full sum; with less it falls short of it by what was dropped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_shared import SharedDeviation
from nextprobe.belief.joint_state import JointState, Look
from nextprobe.belief.joint_stray import Stray
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

_BRANCHES = 8
_LEAST_SHARE = 1e-5


@dataclass(frozen=True, eq=False)
class JointBranches:
    """A belief about θ under each of G groups: a few ways in which readings may have strayed.

    Parameters
    ----------
    state : JointState
        Of R branches; its `log_density` is that of the readings together with the straying.
    group : ndarray of int, shape (R,)
        The group of each branch, in order; every group has one at least.
    strayed : ndarray, shape (R, n)
        Chance that each of the readings so far strayed, in the order in which they were taken:
        0 or 1, or between where straying or not makes no difference to θ.
    most : int
        How many branches a group may have.
    least : float
        Branches with a smaller share of the likeliest of their group are dropped.
    """

    state: JointState
    group: IntArray
    strayed: FloatArray
    most: int = _BRANCHES
    least: float = _LEAST_SHARE

    @classmethod
    def before(
        cls,
        groups: int,
        shared: SharedDeviation,
        most: int = _BRANCHES,
        least: float = _LEAST_SHARE,
    ) -> JointBranches:
        """Return the belief before any reading.

        Parameters
        ----------
        groups : int
            G.
        shared : SharedDeviation
            As of :meth:`JointState.before`.
        most, least
            As of the class.

        Raises
        ------
        MisuseError
            If there is no room for a branch or the share is not from 0 to 1.
        """
        if most < 1 or not 0.0 <= least < 1.0:
            raise MisuseError("room for one branch at least, and a share from 0 to 1, are needed")
        state = JointState.before(groups, shared)
        return cls(state, np.arange(groups), np.zeros((groups, 0)), most, least)

    def after(
        self, model: JointModel, column: int, value: float | None, stray: Stray
    ) -> JointBranches:
        """Return the belief after one more reading.

        Parameters
        ----------
        model, column, value, stray
            As of :meth:`JointState.after`, for G groups.
        """
        one = model.take([column]).select(self.group)
        chances = stray.take([column]).select(self.group)
        look = self.state.look(one, 0, value)
        log_held = chances.log_held[:, 0] + look.update.log_density
        idle = one.over[:, 0] | (one.inherit[:, 0] == 0.0)
        return self.branched([look], log_held[None], chances.log_strayed[:, 0], idle)

    def branched(
        self,
        looks: Sequence[Look],
        log_held: FloatArray,
        log_strayed: FloatArray,
        idle: BoolArray,
        least: FloatArray | None = None,
    ) -> JointBranches:
        """Return the belief after a reading whose densities have been worked out already.

        Parameters
        ----------
        looks : sequence of Look, length W
            What the reading does to each branch in each way in which it may hold, such as with
            little noise or much.
        log_held : ndarray, shape (W, R)
            Log density of the reading together with each of these ways.
        log_strayed : ndarray, shape (R,)
            The same with its straying.
        idle : ndarray of bool, shape (R,)
            Where the reading says nothing of θ, so that the ways need not be followed.
        least : ndarray, shape (G,), or None
            Share below which branches of each group are dropped, in place of that of the class;
            such as a greater one for groups that hardly matter.
        """
        count = len(self.group)
        held = np.logaddexp.reduce(log_held, axis=0)
        both = np.logaddexp(held, log_strayed)
        ways = np.vstack([log_held, log_strayed])
        ways = np.where(idle, -math.inf, ways)
        ways[0, idle] = both[idle]
        weights = (ways + self.state.log_density).ravel()
        share = np.exp(log_strayed - np.where(both > -math.inf, both, math.inf))
        bits = np.zeros_like(ways)
        bits[0], bits[-1] = np.where(idle, share, 0.0), 1.0
        kept = self._kept(np.tile(self.group, len(ways)), weights, least)
        row = kept % count
        return replace(
            self,
            state=self._split(looks, kept, weights[kept]),
            group=self.group[row],
            strayed=np.hstack([self.strayed[row], bits.ravel()[kept, None]]),
        )

    def select(self, groups: IntArray) -> JointBranches:
        """Return the belief of some of the groups, in the order given; a group may be repeated."""
        rows = self.rows_of(groups)
        sizes = self._sizes[groups]
        return replace(
            self,
            state=self.state.picked(rows),
            group=np.repeat(np.arange(len(groups)), sizes),
            strayed=self.strayed[rows],
        )

    def rows_of(self, groups: IntArray) -> IntArray:
        """Return the branches of some of the groups, one group after the other."""
        sizes = self._sizes[groups]
        ends = np.cumsum(sizes)
        first = np.repeat(self._starts[groups] - (ends - sizes), sizes)
        return np.asarray(np.arange(len(first)) + first)

    def summed(self, log_terms: FloatArray) -> FloatArray:
        """Return the log of the mean over the branches of each group, (G,), of terms, (R,)."""
        with np.errstate(divide="ignore"):
            weighed = np.log(self.shares) + log_terms
        return np.asarray(np.logaddexp.reduceat(weighed, self._starts))

    def _split(self, looks: Sequence[Look], kept: IntArray, weights: FloatArray) -> JointState:
        """Return the state of the branches kept, numbered by way and then by branch before."""
        way, row = np.divmod(kept, len(self.group))
        places = [np.flatnonzero(way == number) for number in range(len(looks) + 1)]
        parts = [
            self.state.moved(look, row[place])
            for look, place in zip(looks, places[:-1], strict=True)
            if place.size
        ]
        parts.append(self.state.select(row[places[-1]]))
        order = np.argsort(np.concatenate(places))
        return replace(JointState.joined(parts).picked(order), log_density=weights)

    @property
    def log_density(self) -> FloatArray:
        """Logarithm of the joint density of all readings so far under each group, (G,).

        A lower bound: what was dropped is missing.
        """
        return np.logaddexp.reduceat(self.state.log_density, self._starts)

    @property
    def shares(self) -> FloatArray:
        """Chance of each branch given its group and the readings, (R,)."""
        total = self.log_density[self.group]
        possible = total > -math.inf
        return np.exp(self.state.log_density - np.where(possible, total, 0.0))

    @property
    def strayed_chance(self) -> FloatArray:
        """Chance that each reading so far strayed, given the group and all readings, (G, n)."""
        return np.add.reduceat(self.shares[:, None] * self.strayed, self._starts, axis=0)

    def predicted(self, model: JointModel) -> tuple[FloatArray, FloatArray]:
        """Return mean and standard deviation of further readings, each (G, m).

        Those of the mixture over the branches; single branches are
        ``state.predicted(model.select(group))`` with `shares`.

        Parameters
        ----------
        model : JointModel
            As of :meth:`JointState.predicted`, for G groups.
        """
        mean, deviation = self.state.predicted(model.select(self.group))
        shares = self.shares[:, None]
        centre = np.add.reduceat(shares * mean, self._starts, axis=0)
        spread = deviation**2 + (mean - centre[self.group]) ** 2
        return centre, np.sqrt(np.add.reduceat(shares * spread, self._starts, axis=0))

    @property
    def groups(self) -> int:
        """G."""
        return len(self._starts)

    @property
    def _sizes(self) -> IntArray:
        return np.diff(np.append(self._starts, len(self.group)))

    @cached_property
    def _starts(self) -> IntArray:
        return np.flatnonzero(np.diff(self.group, prepend=-1))

    def _kept(
        self, group: IntArray, weights: FloatArray, least: FloatArray | None = None
    ) -> IntArray:
        least = np.full(self.groups, self.least) if least is None else least
        order = np.lexsort((-weights, group))
        starts = np.flatnonzero(np.diff(group[order], prepend=-1))
        sizes = np.diff(np.append(starts, len(order)))
        rank = np.arange(len(order)) - np.repeat(starts, sizes)
        best = np.repeat(weights[order[starts]], sizes)
        with np.errstate(divide="ignore"):
            floor = best + np.log(least)[group[order]]
        enough = (weights[order] >= floor) & (weights[order] > -math.inf)
        return np.asarray(order[(rank == 0) | ((rank < self.most) & enough)])


def filter_strays(
    model: JointModel,
    values: Sequence[float | None],
    stray: Stray,
    most: int = _BRANCHES,
    least: float = _LEAST_SHARE,
) -> JointBranches:
    """Return the belief after n readings of which any number may stray.

    Numbers are taken first, for over-range is only matched in its moments; `strayed` is in the
    order of the columns all the same.

    Parameters
    ----------
    model : JointModel
        Of the n readings.
    values : sequence of float or None, length n
        What was seen [unit of the reading]; None is over-range.
    stray : Stray
        Of the same groups and readings.
    most, least
        As of :class:`JointBranches`.
    """
    belief = JointBranches.before(model.groups, model.shared, most, least)
    order = sorted(range(len(values)), key=lambda column: values[column] is None)
    for column in order:
        belief = belief.after(model, column, values[column], stray)
    return replace(belief, strayed=belief.strayed[:, np.argsort(order)])
