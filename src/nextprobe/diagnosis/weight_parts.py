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

FloatArray = NDArray[np.float64]

# Below this weight the quotient that defines the logarithmic mean loses digits [nats].
_SMALL = 1e-3
LEAST_LOG = math.log(1e-300)
"""A share that vanishes counts as one of this logarithm."""


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


def log_odds(log_one: ArrayLike, log_other: ArrayLike) -> FloatArray:
    """Return log odds from the log weights of both sides.

    A share that vanishes counts as 1e-300, and nothing is said where both do.
    """
    one, other = np.asarray(log_one, dtype=float), np.asarray(log_other, dtype=float)
    total = np.logaddexp(one, other)
    with np.errstate(invalid="ignore"):
        shares = [np.maximum(side - total, LEAST_LOG) for side in (one, other)]
    return np.where(np.isneginf(total), 0.0, shares[0] - shares[1])
