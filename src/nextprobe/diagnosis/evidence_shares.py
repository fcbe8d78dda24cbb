"""What each of several observations did to hypotheses, whatever their order.

The shares are the Shapley value (Shapley 1953, A value for n-person games, eq. 12, from memory) of
the game in which a set of observations is worth the change of log odds that it makes alone: the
mean, over orders, of what each adds. In every order these add up to the weight of all together, and
so does their mean, over all orders or over some.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.diagnosis.weight_parts import LEAST_LOG, log_odds, weight_parts

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

MOST_TOGETHER = 10
"""So many observations at most are shared out over all orders; of more, `SOME_ORDERS` are taken."""
SOME_ORDERS = 256

# What rules a world out, so deep that it vanishes, yet can be multiplied by nothing [nats].
_RULED_OUT = -1e5
_SEED = 1953
_AT_ONCE = 1 << 21


@dataclass(frozen=True, eq=False)
class Shares:
    """What each of several observations did to a hypothesis.

    Parameters
    ----------
    nats : ndarray, shape (N,)
        They sum to the weight of all together.
    error : ndarray, shape (N,)
        Standard error of each for not having taken all orders; 0 where all are taken [nats].
    orders : int
        How many orders were taken; 0 stands for all.
    """

    nats: FloatArray
    error: FloatArray
    orders: int


@dataclass(frozen=True, eq=False)
class _Steps:
    """Orders of observations, as steps from what is there before one to what is there after it.

    Parameters
    ----------
    there : ndarray of bool, shape (C, N)
        Sets of observations.
    item, before, after : ndarray of int, shape (T,)
        The observation that each step adds, and the sets before and after it.
    share : ndarray, shape (T,)
        Of all orders taken, those with this step.
    orders : int
        How many orders; 0 stands for all.
    """

    there: BoolArray
    item: IntArray
    before: IntArray
    after: IntArray
    share: FloatArray
    orders: int


class Sharing:
    """Observations, the possible worlds that they speak of, and hypotheses about these.

    Parameters
    ----------
    log_likelihoods : array_like, shape (N, R)
        Of each observation in each possible world, within which they are independent, or each
        given those above it.
    log_weights : array_like, shape (R,)
        Of the worlds before.
    inside : array_like of bool, shape (F, R)
        Worlds in which each hypothesis holds.
    """

    def __init__(
        self, log_likelihoods: ArrayLike, log_weights: ArrayLike, inside: ArrayLike
    ) -> None:
        logs = np.asarray(log_likelihoods, dtype=float)
        weights = np.asarray(log_weights, dtype=float)
        # What is common to all worlds says nothing.
        self._logs = np.maximum(logs - logs.max(axis=1, keepdims=True), _RULED_OUT)
        self._weights = np.maximum(weights - weights.max(), _RULED_OUT)
        self._inside = np.atleast_2d(np.asarray(inside, dtype=bool))
        self._steps = _steps(len(logs))
        self._alike = self._merged()

    def _merged(self) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Return all of it with worlds as one that no observation and no hypothesis tells apart."""
        table = np.concatenate([self._logs, self._inside]).T + 0.0
        whole = np.ascontiguousarray(table).view(np.dtype((np.void, table.shape[1] * 8)))[:, 0]
        _, first, kind = np.unique(whole, return_index=True, return_inverse=True)
        kind = kind.reshape(-1)
        most = np.full(len(first), -np.inf)
        np.maximum.at(most, kind, self._weights)
        mass = np.bincount(kind, np.exp(self._weights - most[kind]), len(first))
        return self._logs[:, first], most + np.log(mass), self._inside[:, first]

    def shares(self) -> tuple[Shares, ...]:
        """Return what each observation did to each hypothesis."""
        return tuple(self._shares(gains) for gains in self._gains)

    def _shares(self, gains: FloatArray) -> Shares:
        steps, count = self._steps, len(self._logs)
        nats = np.bincount(steps.item, steps.share * gains, count).astype(np.float64)
        if not steps.orders:
            return Shares(nats, np.zeros(count), 0)
        by_item = gains[np.argsort(steps.item, kind="stable")].reshape(count, -1, 2)
        pairs = by_item.mean(axis=2)
        return Shares(nats, pairs.std(axis=1, ddof=1) / math.sqrt(pairs.shape[1]), steps.orders)

    def by_rival(self, observation: int, rival: ArrayLike, hypothesis: int = 0) -> FloatArray:
        """Return the share of one observation in parts by rival, shape (G,).

        Parameters
        ----------
        observation : int
            Its row.
        rival : array_like of int, shape (R,)
            Number of the rival that each world outside belongs to, from 0 to G - 1.
        hypothesis : int
            Its row.
        """
        steps, inside = self._steps, self._inside[hypothesis]
        mine = np.flatnonzero(steps.item == observation)
        numbers = np.asarray(rival, dtype=np.intp)
        parts = np.zeros(int(numbers.max()) + 1)
        for step, gain in zip(mine, self._gains[hypothesis, mine].tolist(), strict=True):
            [weights] = self._log_weights(steps.there[steps.before[step]][None, :])
            parts += steps.share[step] * _against(
                weights, weights + self._logs[observation], inside, numbers, gain
            )
        return parts

    @cached_property
    def _gains(self) -> FloatArray:
        """What each step changes the log odds of each hypothesis by, shape (F, T)."""
        steps, (logs, weights, inside) = self._steps, self._alike
        rows = max(1, _AT_ONCE // max(1, weights.size))
        chunks = [steps.there[start : start + rows] for start in range(0, len(steps.there), rows)]
        worth = np.concatenate(
            [_log_odds(each.astype(float) @ logs + weights, inside) for each in chunks]
        ).T
        return np.asarray(worth[:, steps.after] - worth[:, steps.before])

    def _log_weights(self, there: BoolArray) -> FloatArray:
        """Return the log weights of worlds after sets of observations, shape (C, R)."""
        return np.asarray(there.astype(float) @ self._logs + self._weights)


def _log_odds(log_weights: FloatArray, inside: BoolArray) -> FloatArray:
    """Return the log odds of each hypothesis, shape (C, F)."""
    mass = np.exp(log_weights - log_weights.max(axis=1, keepdims=True))
    one, other = (mass @ side.T.astype(float) for side in (inside, ~inside))
    with np.errstate(divide="ignore"):
        return log_odds(np.log(one), np.log(other))


def _against(
    before: FloatArray, after: FloatArray, inside: BoolArray, rival: IntArray, whole: float
) -> FloatArray:
    """Return what one observation does after given others, by rival, shape (G,).

    Parameters
    ----------
    before, after : ndarray, shape (R,)
        Log weights of the worlds.
    """
    weights, count = np.exp(before - before.max()), int(rival.max()) + 1
    changed = np.exp(after - before.max())
    shares, theirs = (np.bincount(rival[~inside], each[~inside], count)
                      for each in (weights, changed))  # fmt: skip
    mine, others = float(weights[inside].sum()), float(shares.sum())
    if min(mine, others) <= math.exp(LEAST_LOG):
        return np.zeros(count)
    with np.errstate(divide="ignore", invalid="ignore"):
        here = np.log(changed[inside].sum() / mine)
        there = np.where(shares > 0.0, np.log(theirs / shares), 0.0)
    return weight_parts([here], there[:, None], shares / others, whole)[:, 0]


def _steps(count: int) -> _Steps:
    return _all_orders(count) if count <= MOST_TOGETHER else _some_orders(count)


def _all_orders(count: int) -> _Steps:
    masks = np.arange(1 << count)
    there = (masks[:, None] >> np.arange(count) & 1).astype(bool)
    before, item = np.nonzero(~there)
    sizes = there.sum(axis=1)[before]
    # In so many of all orders come the given ones before one, and the rest after it.
    share = [math.factorial(k) * math.factorial(count - 1 - k) for k in range(count)]
    shares = np.array(share, dtype=float)[sizes] / math.factorial(count)
    return _Steps(there, item, before, before | 1 << item, shares, 0)


def _some_orders(count: int) -> _Steps:
    """Return orders drawn in pairs, each with its reverse, by a fixed seed.

    What the reverse adds errs the other way (antithetic variates; Hammersley and Morton 1956, Proc.
    Cambridge Phil. Soc. 52, 449-475, from memory).
    """
    drawn = np.random.default_rng(_SEED).permuted(
        np.tile(np.arange(count), (SOME_ORDERS // 2, 1)), axis=1
    )
    orders = np.stack([drawn, drawn[:, ::-1]], axis=1).reshape(SOME_ORDERS, count)
    place = np.argsort(orders, axis=1)
    there = place[:, None, :] < np.arange(count + 1)[None, :, None]
    before = np.arange(SOME_ORDERS)[:, None] * (count + 1) + np.arange(count)
    share = np.full(orders.size, 1.0 / SOME_ORDERS)
    return _Steps(
        there.reshape(-1, count),
        orders.ravel(),
        before.ravel(),
        before.ravel() + 1,
        share,
        SOME_ORDERS,
    )
