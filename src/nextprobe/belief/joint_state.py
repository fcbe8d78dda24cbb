"""What is known of the shared deviations after some readings, under every group at once.

A reading is a noisy linear look at θ, so that taking one is a Kalman update (Kalman 1960; Rasmussen
and Williams 2006, 2.1), of O(k²) per group. The covariance of θ is kept as a square root, which
no rounding can make indefinite (Potter's form: Bierman 1977, Factorization Methods for Discrete
Sequential Estimation, chapter II). Groups in which every reading so far had the same `inherit` and
the same noise share one square root: what they predict may differ, what they know of θ does not.

Numbers are exact and their order does not matter. Over-range where a number was predicted, and
readings that may stray, leave a θ that is not normal; the normal of the same mean and variance
takes its place (assumed-density filtering: Minka 2001, chapter 3), so that later log densities are
approximate and depend on the order a little.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_shared import SharedDeviation
from nextprobe.belief.joint_stray import Stray
from nextprobe.belief.joint_tail import beyond
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
_LOG_TWO_PI = math.log(2.0 * math.pi)


class Update(NamedTuple):
    """What one reading does to the latent number behind it, by group, each (G,).

    Parameters
    ----------
    log_density : ndarray
        Of the reading, given the earlier ones; minus infinity allowed.
    pull : ndarray
        By how much it moves θ, per unit of covariance between reading and θ [1/unit].
    strength : ndarray
        By how much it shrinks the covariance of θ, likewise [1/unit²].
    left : ndarray
        Share of the shared variance of the reading that is left afterwards [1].
    """

    log_density: FloatArray
    pull: FloatArray
    strength: FloatArray
    left: FloatArray


class Look(NamedTuple):
    """One reading as seen from a state: what it does, and along which direction of θ.

    Parameters
    ----------
    update : Update
        By group.
    inherit : ndarray, shape (G,)
        r of the reading.
    across : ndarray, shape (U, k)
        Rᵀ f by pattern, for the row f of the reading in the factor.
    """

    update: Update
    inherit: FloatArray
    across: FloatArray


@dataclass(frozen=True, eq=False)
class JointState:
    """A belief about θ under each of G groups after the readings so far.

    Parameters
    ----------
    mean : ndarray, shape (G, k)
        Of θ.
    root : ndarray, shape (U, k, k)
        Square roots R of its covariances R Rᵀ, of which there are U different ones.
    pattern : ndarray of int, shape (G,)
        Which of them each group has.
    log_density : ndarray, shape (G,)
        Logarithm of the joint density of all readings so far.
    last : ndarray, shape (G,)
        Logarithm of the density of the last reading given those before it.
    """

    mean: FloatArray
    root: FloatArray
    pattern: IntArray
    log_density: FloatArray
    last: FloatArray

    @classmethod
    def before(cls, groups: int, shared: SharedDeviation) -> JointState:
        """Return the state before any reading: θ ~ N(0, I).

        Parameters
        ----------
        groups : int
            G.
        shared : SharedDeviation
            Whose θ is meant; only k counts. All models given later must have the same θ.
        """
        rank = shared.factor.shape[1]
        none = np.zeros(groups)
        root = np.eye(rank)[None]
        return cls(np.zeros((groups, rank)), root, np.zeros(groups, dtype=np.intp), none, none)

    def after(
        self, model: JointModel, column: int, value: float | None, stray: Stray | None = None
    ) -> JointState:
        """Return the state after one more reading.

        Parameters
        ----------
        model : JointModel
            What is predicted of some readings, this one among them, for the same G and θ.
        column : int
            Which of them was taken.
        value : float or None
            What was seen [unit of the reading]; None is over-range.
        stray : Stray or None
            Whether readings may stray, for the same groups and readings; only the column counts.

        Raises
        ------
        MisuseError
            If the value can not be read or the shapes disagree.
        """
        look = self.look(model, column, value)
        if stray is not None:
            inherited = look.inherit**2 * (look.across**2).sum(axis=1)[self.pattern]
            look = look._replace(update=mixed(look.update, stray.take([column]), inherited))
        return self.moved(look, np.arange(len(self.mean)))

    def look(self, model: JointModel, column: int, value: float | None) -> Look:
        """Return what a reading that does not stray would do; see :meth:`after`."""
        one = model.take([column])
        self._check(one)
        seen = float(one.observed([value])[0])
        across = one.shared.factor[0] @ self.root
        update = self._update(one, seen, (across**2).sum(axis=1))
        return Look(update, one.inherit[:, 0], across)

    def moved(self, look: Look, groups: IntArray) -> JointState:
        """Return the state of some of the groups after what they looked at."""
        update = Update(*(each[groups] for each in look.update))
        inherit, before = look.inherit[groups], self.pattern[groups]
        reach = (self.root @ look.across[..., None])[..., 0]
        mean = self.mean[groups] + (inherit * update.pull)[:, None] * reach[before]
        shrink = inherit**2 * update.strength
        keys = np.stack([before, shrink], axis=1)
        _, first, pattern = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        of = before[first]
        # (I − c a aᵀ)² = I − shrink a aᵀ
        c = shrink[first] / (1.0 + np.sqrt(update.left[first]))
        root = self.root[of]
        root -= (c[:, None] * reach[of])[:, :, None] * look.across[of][:, None, :]
        total = self.log_density[groups] + update.log_density
        return JointState(mean, root, pattern.reshape(-1), total, update.log_density)

    def predicted(self, model: JointModel) -> tuple[FloatArray, FloatArray]:
        """Return what further readings will be, as numbers, given those so far.

        Parameters
        ----------
        model : JointModel
            Of m readings not taken yet, for the same G and θ.

        Returns
        -------
        mean, deviation : ndarray, each of shape (G, m)
            Of the normal distribution of each reading if it does not stray [unit of the reading];
            0 and 1 where over-range is predicted.
        """
        self._check(model)
        across = model.shared.factor @ self.root
        shared = (across**2).sum(axis=-1)[self.pattern]
        mean = model.expected + model.inherit * (self.mean @ model.shared.factor.T)
        return mean, np.sqrt(model.inherit**2 * shared + model.noise)

    def select(self, groups: IntArray) -> JointState:
        """Return the state of some of the groups, in the order given; a group may be repeated."""
        used, pattern = np.unique(self.pattern[groups], return_inverse=True)
        return JointState(
            self.mean[groups],
            self.root[used],
            pattern.reshape(-1),
            self.log_density[groups],
            self.last[groups],
        )

    def picked(self, groups: IntArray) -> JointState:
        """Return some of the groups in the order given, with all square roots as they are.

        Faster than :meth:`select`, which leaves out those that are not used.
        """
        return JointState(
            self.mean[groups],
            self.root,
            self.pattern[groups],
            self.log_density[groups],
            self.last[groups],
        )

    @staticmethod
    def joined(parts: Sequence[JointState]) -> JointState:
        """Return the groups of all parts, one after the other; θ must be the same."""
        ends = np.cumsum([len(part.root) for part in parts])
        pattern = [
            part.pattern + end - len(part.root) for part, end in zip(parts, ends, strict=True)
        ]
        return JointState(
            np.concatenate([part.mean for part in parts]),
            np.concatenate([part.root for part in parts]),
            np.concatenate(pattern),
            np.concatenate([part.log_density for part in parts]),
            np.concatenate([part.last for part in parts]),
        )

    def _check(self, model: JointModel) -> None:
        shape = (model.groups, model.shared.factor.shape[1])
        if shape != self.mean.shape:
            raise MisuseError(f"groups and shared quantities are {self.mean.shape}, not {shape}")

    def _update(self, one: JointModel, seen: float, shared: FloatArray) -> Update:
        """Return what a reading that does not stray does; `shared` by pattern, for inherit 1."""
        inherit, noise = one.inherit[:, 0], one.noise[:, 0]
        inherited = inherit**2 * shared[self.pattern]
        variance = inherited + noise
        mean = one.expected[:, 0] + inherit * (self.mean @ one.shared.factor[0])
        if math.isinf(seen):
            found = _of_tail(float(one.limit[0]) - mean, variance, inherited, noise)
        else:
            found = _of_number(seen - mean, variance, noise)
        over = one.over[:, 0]
        state = 0.0 if math.isinf(seen) else -math.inf
        return Update(
            np.where(over, state, found.log_density),
            np.where(over, 0.0, found.pull),
            np.where(over, 0.0, found.strength),
            np.where(over, 1.0, found.left),
        )


def mixed(held: Update, stray: Stray, inherited: FloatArray) -> Update:
    """Return what a reading does that may stray: the mixture of both, moments matched.

    Parameters
    ----------
    held : Update
        If it does not stray.
    stray : Stray
        Of this one reading, (G, 1).
    inherited : ndarray, shape (G,)
        Variance that the reading inherits from θ [unit²].
    """
    log_held = stray.log_held[:, 0] + held.log_density
    log_density = np.logaddexp(log_held, stray.log_strayed[:, 0])
    possible = log_density > -math.inf
    share = np.exp(np.where(possible, log_held, -math.inf) - np.where(possible, log_density, 0.0))
    apart = share * (1.0 - share) * held.pull**2
    return Update(
        log_density,
        share * held.pull,
        share * held.strength - apart,
        (1.0 - share) + share * held.left + apart * inherited,
    )


def _of_number(residual: FloatArray, variance: FloatArray, noise: FloatArray) -> Update:
    log_density = -0.5 * (_LOG_TWO_PI + np.log(variance) + residual**2 / variance)
    return Update(log_density, residual / variance, 1.0 / variance, noise / variance)


def _of_tail(
    distance: FloatArray, variance: FloatArray, inherited: FloatArray, noise: FloatArray
) -> Update:
    root = np.sqrt(variance)
    tail = beyond(distance / root)
    left = (noise + tail.variance * inherited) / variance
    return Update(tail.log_chance, tail.mean / root, (1.0 - tail.variance) / variance, left)
