"""Normal quantities of which only is known that they lie beyond a limit.

Over-range is such knowledge. A normal quantity cut off at a limit is not normal; what follows it is
computed with the normal of the same mean and variance (moment matching, as in assumed-density
filtering: Minka 2001, A family of algorithms for approximate Bayesian inference, chapter 3;
Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, 3.6 and 3.9). The chance of
the first is exact, of several it is a product of conditional chances, each after matching.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfcx, log_ndtr

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_FAR = 6.0
_TERMS = 60


class Tail(NamedTuple):
    """A standard normal quantity known to exceed a score z.

    Parameters
    ----------
    log_chance : ndarray
        Logarithm of the chance Q(z) that it does.
    mean : ndarray
        Its mean then, the inverse Mills ratio λ = φ(z) / Q(z).
    variance : ndarray
        Its variance then, 1 − λ (λ − z), between 0 and 1.
    """

    log_chance: FloatArray
    mean: FloatArray
    variance: FloatArray


def beyond(score: ArrayLike) -> Tail:
    """Return chance and moments of a standard normal quantity beyond a score, any shape.

    Near the middle by the scaled complementary error function; far out, where λ − z and the
    variance would cancel, by Laplace's continued fraction of the Mills ratio (Abramowitz and
    Stegun 1964, 26.2.14).

    Parameters
    ----------
    score : array_like
        z, in standard deviations above the mean; any finite number.
    """
    z = np.asarray(score, dtype=np.float64)
    with np.errstate(over="ignore"):
        near = math.sqrt(2.0 / math.pi) / erfcx(np.minimum(z, _FAR) / math.sqrt(2.0))
    near_variance = 1.0 - near * (near - np.minimum(z, _FAR))
    far = np.maximum(z, _FAR)
    # With λ = z + 1/b and b = z + 2/c, c = z + 3/(z + 4/(z + …)).
    c = far
    for term in range(_TERMS, 2, -1):
        c = far + term / c
    b = far + 2.0 / c
    is_far = z > _FAR
    return Tail(
        np.asarray(log_ndtr(-z)),
        np.where(is_far, far + 1.0 / b, near),
        np.where(is_far, (2.0 / c - 1.0 / b) / b, near_variance),
    )


def log_all_beyond(
    mean: FloatArray, covariance: FloatArray, limit: FloatArray, counted: BoolArray
) -> FloatArray:
    """Return the log chance that all of q jointly normal quantities exceed their limits.

    Exact for one; for several the product of conditional chances in the order given, each after
    matching the moments of what is already known to be beyond.

    Parameters
    ----------
    mean : ndarray, shape (…, q)
        Means.
    covariance : ndarray, shape (…, q, q)
        Covariances, positive definite.
    limit : ndarray, shape (q,)
        Limits.
    counted : ndarray of bool, shape (…, q)
        Which of them must be beyond; the others may lie anywhere.

    Returns
    -------
    ndarray, shape (…)
    """
    means, spreads = mean.copy(), covariance.copy()
    total = np.zeros(np.broadcast_shapes(mean.shape[:-1], counted.shape[:-1]))
    for i, most in enumerate(limit):
        root = np.sqrt(spreads[..., i, i])
        tail = beyond((most - means[..., i]) / root)
        taken = counted[..., i]
        total += np.where(taken, tail.log_chance, 0.0)
        gain = spreads[..., i] / root[..., None]
        shrunk = np.where(taken, 1.0 - tail.variance, 0.0)
        means = means + gain * np.where(taken, tail.mean, 0.0)[..., None]
        spreads = spreads - shrunk[..., None, None] * gain[..., :, None] * gain[..., None, :]
    return total
