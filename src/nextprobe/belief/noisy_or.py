"""Several causes of one effect, each able to bring it about alone: the noisy OR.

Pearl (1988), Probabilistic Reasoning in Intelligent Systems, 4.3.2: the effect fails to appear
only if the leak and every active cause fail to bring it about, independently.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.belief.ensemble import Ensemble, FloatArray
from nextprobe.errors import MisuseError

_MOST_SETS = 1 << 20


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


def fault_sets(priors: ArrayLike, largest_set: int | None = None) -> Ensemble:
    """Return all sets of independent faults up to a size, with their priors.

    Parameters
    ----------
    priors : array_like, shape (N,)
        Probability of each fault.
    largest_set : int or None
        Largest number of faults at once; None for all.

    Returns
    -------
    Ensemble
        Columns ``0`` to ``N-1`` hold 1 where the fault is present; the prior probability of
        larger sets is its `log_omitted`.

    Raises
    ------
    MisuseError
        If a prior is not a probability or there are more than about a million sets.
    """
    chances = np.asarray(priors, dtype=np.float64)
    if not ((chances >= 0.0) & (chances <= 1.0)).all():
        raise MisuseError("priors are probabilities")
    count = chances.size
    largest = count if largest_set is None else min(largest_set, count)
    if sum(math.comb(count, size) for size in range(largest + 1)) > _MOST_SETS:
        raise MisuseError(f"too many sets of up to {largest} of {count} faults to list")
    chosen = [pick for size in range(largest + 1) for pick in combinations(range(count), size)]
    present = np.zeros((len(chosen), count), dtype=np.intp)
    for row, pick in enumerate(chosen):
        present[row, pick] = 1
    with np.errstate(divide="ignore"):
        log_prior = np.where(present == 1, np.log(chances), np.log1p(-chances)).sum(axis=1)
        log_larger = float(np.log(_count_distribution(chances)[largest + 1 :].sum()))
    columns = {str(fault): present[:, fault] for fault in range(count)}
    return Ensemble(log_prior, columns, log_larger)


def posterior(
    priors: ArrayLike,
    strengths: ArrayLike,
    leaks: ArrayLike,
    findings: Sequence[bool | None],
    largest_set: int | None = None,
) -> Ensemble:
    """Return the belief over sets of faults after checks, by enumeration.

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
        As :func:`fault_sets` and :func:`log_absence`, or if shapes do not fit.
    """
    table = np.asarray(strengths, dtype=np.float64)
    leak = np.asarray(leaks, dtype=np.float64)
    belief = fault_sets(priors, largest_set)
    if table.shape != (len(findings), len(belief.columns)) or leak.shape != (len(findings),):
        raise MisuseError("strengths need a row for each finding and a column for each fault")
    present: NDArray[np.bool_] = np.stack(list(belief.columns.values()), axis=1) == 1
    for row, failed in enumerate(findings):
        if failed is None:
            continue
        absent = log_absence(present, table[row], float(leak[row]))
        belief = belief.condition(_log_complement(absent) if failed else absent)
    return belief


def posterior_marginals(
    priors: ArrayLike,
    strengths: ArrayLike,
    leaks: ArrayLike,
    findings: Sequence[bool | None],
    largest_set: int | None = None,
) -> FloatArray:
    """Return the posterior probability of each fault, shape (N,); see :func:`posterior`."""
    belief = posterior(priors, strengths, leaks, findings, largest_set)
    return np.array([belief.marginal(name, 2)[1] for name in belief.columns])


def _log_complement(log_probability: FloatArray) -> FloatArray:
    """Return ln(1 - exp(x)) for x <= 0 without cancellation."""
    small = log_probability > -math.log(2.0)
    with np.errstate(divide="ignore"):
        near_one = np.log(-np.expm1(np.where(small, log_probability, -1.0)))
        return np.where(small, near_one, np.log1p(-np.exp(log_probability)))


def _count_distribution(chances: FloatArray) -> FloatArray:
    """Return the distribution of the number of faults (Poisson binomial), shape (N + 1,)."""
    counts = np.ones(1)
    for chance in chances:
        counts = np.convolve(counts, (1.0 - chance, chance))
    return counts
