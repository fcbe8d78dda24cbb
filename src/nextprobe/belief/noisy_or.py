"""Several causes of one effect, each able to bring it about alone: the noisy OR.

Pearl (1988), Probabilistic Reasoning in Intelligent Systems, 4.3.2: the effect fails to appear
only if the leak and every active cause fail to bring it about, independently.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.belief.ensemble import FloatArray
from nextprobe.belief.enumeration import SetPosterior, enumerate_sets
from nextprobe.errors import MisuseError


def failure_probability(active: ArrayLike, strength: ArrayLike, leak: float = 0.0) -> FloatArray:
    """Return the probability of the effect.

    Parameters
    ----------
    active : array_like of bool, shape (..., J)
        Which causes are present.
    strength : array_like, shape (J,)
        Chance that each brings about the effect by itself.
    leak : float
        Chance of the effect without any of them.

    Returns
    -------
    ndarray, shape (...)
        ``1 - (1 - leak) * prod(1 - strength over active)``, exact where it is tiny.
    """
    return np.asarray(-np.expm1(log_absence(active, strength, leak)))


def log_absence(active: ArrayLike, strength: ArrayLike, leak: float = 0.0) -> FloatArray:
    """Return the log probability that the effect does not appear.

    Parameters are those of :func:`failure_probability`.

    Raises
    ------
    MisuseError
        If a strength or the leak is not a probability.
    """
    strengths = np.asarray(strength, dtype=np.float64)
    if not ((strengths >= 0.0) & (strengths <= 1.0)).all() or not 0.0 <= leak <= 1.0:
        raise MisuseError("strengths and leaks are probabilities")
    present = np.asarray(active, dtype=np.bool_)
    certain = strengths == 1.0
    held = np.log1p(-np.where(certain, 0.0, strengths))
    total = present.astype(np.float64) @ held + (math.log1p(-leak) if leak < 1.0 else -math.inf)
    return np.where((present & certain).any(axis=-1), -np.inf, total)


def posterior(
    priors: ArrayLike,
    strengths: ArrayLike,
    leaks: ArrayLike,
    findings: Sequence[bool | None],
    largest_set: int | None = None,
) -> SetPosterior:
    """Return the belief over sets of faults after checks, by enumeration in logarithms.

    A check that passed multiplies the likelihood by one factor for each fault, which makes the
    bound of :func:`~nextprobe.belief.enumeration.enumerate_sets` sharp. A fault that no check
    reaches factors out. No sum over signs is taken, so nothing cancels however many checks failed.

    Parameters
    ----------
    priors : array_like, shape (N,)
        Probability of each fault; independent.
    strengths : array_like, shape (M, N)
        Chance that a fault by itself makes a check fail.
    leaks : array_like, shape (M,)
        Chance that a check fails without any fault.
    findings : sequence of bool or None, length M
        Whether each check failed; None if it was not made.
    largest_set : int or None
        Largest number of faults at once; None for all.

    Raises
    ------
    MisuseError
        As :func:`~nextprobe.belief.enumeration.enumerate_sets` and :func:`log_absence`, or if
        shapes do not fit.
    """
    table = np.asarray(strengths, dtype=np.float64)
    leak = np.asarray(leaks, dtype=np.float64)
    count = np.asarray(priors).size
    if table.shape != (len(findings), count) or leak.shape != (len(findings),):
        raise MisuseError("strengths need a row for each finding and a column for each fault")
    made = [row for row, failed in enumerate(findings) if failed is not None]
    passed = [row for row in made if not findings[row]]

    def log_likelihood(present: NDArray[np.bool_]) -> FloatArray:
        total = np.zeros(len(present))
        for row in made:
            absent = log_absence(present, table[row], float(leak[row]))
            total = total + (_log_complement(absent) if findings[row] else absent)
        return total

    alone = np.eye(count, dtype=np.bool_)
    factors = [log_absence(alone, table[row]) for row in passed]
    with np.errstate(divide="ignore"):
        bound = float(np.log1p(-leak[passed]).sum())
    return enumerate_sets(
        priors,
        log_likelihood,
        largest_set=largest_set,
        log_factors=sum(factors, np.zeros(count)),
        log_bound=bound,
        touching=(table[made] > 0.0).any(axis=0),
    )


def posterior_marginals(
    priors: ArrayLike,
    strengths: ArrayLike,
    leaks: ArrayLike,
    findings: Sequence[bool | None],
    largest_set: int | None = None,
) -> FloatArray:
    """Return the posterior probability of each fault, shape (N,); see :func:`posterior`."""
    return posterior(priors, strengths, leaks, findings, largest_set).marginals


def _log_complement(log_probability: FloatArray) -> FloatArray:
    """Return ln(1 - exp(x)) for x <= 0 without cancellation."""
    small = log_probability > -math.log(2.0)
    with np.errstate(divide="ignore"):
        near_one = np.log(-np.expm1(np.where(small, log_probability, -1.0)))
        return np.where(small, near_one, np.log1p(-np.exp(log_probability)))
