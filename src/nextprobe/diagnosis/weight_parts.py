"""A weight of evidence split into parts that add up to it.

A hypothesis predicts a piece of evidence with the likelihood ``L``, everything else together with
``Q``, the mean over rivals by their shares ``s``; both may be a sum over ways ``k`` in which the
evidence comes about. With the logarithmic mean ``m(a, b) = (a - b) / (ln a - ln b)`` the weight is
exactly the sum of ``s_g (L_k - L_gk) / m(L, Q)`` over rivals ``g`` and ways ``k``: the additive
logarithmic mean decomposition (Ang 2004, Energy Policy 32, 1131-1139,
doi:10.1016/S0301-4215(03)00076-4; there of changes in energy use). A rival that predicts the
evidence as well as the hypothesis has no part in it, and no order of rivals enters.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# Below this weight the quotient that defines the logarithmic mean loses digits [nats].
_SMALL = 1e-3
_LEAST_LOG = math.log(1e-300)
MOST_TOGETHER = 12
"""So many observations at most are given their shares together."""


def weight_parts(
    log_here: ArrayLike, log_there: ArrayLike, shares: ArrayLike, whole: float
) -> FloatArray:
    """Return the parts of a weight of evidence by rival and way, shape (G, K), in nats.

    Parameters
    ----------
    log_here : array_like, shape (K,)
        Log likelihood under the hypothesis of the evidence coming about in each way.
    log_there : array_like, shape (G, K)
        The same under each rival.
    shares : array_like, shape (G,)
        Of the rivals among all that is not the hypothesis; sum to one.
    whole : float
        The weight that the parts add up to; where both sides are possible it is their log ratio.
    """
    here, there = np.asarray(log_here, dtype=float), np.asarray(log_there, dtype=float)
    share = np.asarray(shares, dtype=float)[:, None]
    with np.errstate(divide="ignore"):
        rivals = np.log(share) + there
    top = max(float(here.max()), float(rivals.max()))
    if not math.isfinite(top):
        return np.zeros_like(there)
    mine, theirs = np.exp(here - top), np.exp(rivals - top)
    mean = _mean(float(mine.sum()), float(theirs.sum()), whole)
    return np.asarray((share * mine - theirs) / mean)


def _mean(one: float, other: float, whole: float) -> float:
    """Return the logarithmic mean, from the log ratio where that is sure."""
    if abs(whole) > _SMALL and one != other:
        return (one - other) / whole
    ratio = math.log(one / other) if one > 0.0 and other > 0.0 else 0.0
    return (one + other) / 2.0 if abs(ratio) < _SMALL**2 else (one - other) / ratio


def shared_weights(
    log_likelihoods: ArrayLike, log_weights: ArrayLike, inside: ArrayLike
) -> FloatArray:
    """Return what each of several observations did to a hypothesis, whatever their order.

    The parts are the Shapley value (Shapley 1953, A value for n-person games, eq. 12, from memory)
    of the game in which a set of observations is worth the change of log odds that it makes alone:
    the mean, over all orders, of what each adds. They sum to the weight of all together.

    Parameters
    ----------
    log_likelihoods : array_like, shape (N, R)
        Of each observation in each possible world, within which they are independent.
    log_weights : array_like, shape (R,)
        Of the worlds before.
    inside : array_like of bool, shape (R,)
        Worlds in which the hypothesis holds.

    Returns
    -------
    ndarray, shape (N,)
        In nats.

    Raises
    ------
    MisuseError
        If there are more than `MOST_TOGETHER` observations.
    """
    logs = np.asarray(log_likelihoods, dtype=float)
    count = len(logs)
    if count > MOST_TOGETHER:
        raise MisuseError(f"{count} observations are too many to be shared out together")
    worth = _worth(logs, np.asarray(log_weights, dtype=float), np.asarray(inside, dtype=bool))
    sizes = np.array([bin(mask).count("1") for mask in range(1 << count)])
    factor = np.array([_order_share(size, count) for size in range(count)])
    found = np.zeros(count)
    masks = np.arange(1 << count)
    for place in range(count):
        without = masks[masks >> place & 1 == 0]
        found[place] = factor[sizes[without]] @ (worth[without | 1 << place] - worth[without])
    return found


def _order_share(before: int, count: int) -> float:
    """Return the share of all orders in which given ones come before one and the rest after it."""
    return math.factorial(before) * math.factorial(count - 1 - before) / math.factorial(count)


def _worth(logs: FloatArray, weights: FloatArray, inside: NDArray[np.bool_]) -> FloatArray:
    """Return the log odds that each set of observations leads to, by bit mask, shape (2 ** N,)."""
    kinds, one, other = _alike(logs, weights, inside)
    seen = np.zeros((1, kinds.shape[1]))
    for row in kinds:
        seen = np.vstack([seen, seen + row])
    sides = [np.logaddexp.reduce(seen + side, axis=1) for side in (one, other)]
    return log_odds(*sides)


def _alike(
    logs: FloatArray, weights: FloatArray, inside: NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Merge worlds in which every observation is as likely.

    Returns their likelihoods, shape (N, U), and the log weights of those in which the hypothesis
    holds and of the others, shape (U,).
    """
    kinds, kind = np.unique(logs, axis=1, return_inverse=True)
    kind = kind.reshape(-1)
    mass = np.exp(weights - weights.max())
    with np.errstate(divide="ignore"):
        one, other = (
            np.log(np.bincount(kind[side], mass[side], kinds.shape[1]))
            for side in (inside, ~inside)
        )
    return kinds, one, other


def log_odds(log_one: ArrayLike, log_other: ArrayLike) -> FloatArray:
    """Return log odds from the log weights of both sides.

    A share that vanishes counts as 1e-300, and nothing is said where both do.
    """
    one, other = np.asarray(log_one, dtype=float), np.asarray(log_other, dtype=float)
    total = np.logaddexp(one, other)
    with np.errstate(invalid="ignore"):
        shares = [np.maximum(side - total, _LEAST_LOG) for side in (one, other)]
    return np.where(np.isneginf(total), 0.0, shares[0] - shares[1])
