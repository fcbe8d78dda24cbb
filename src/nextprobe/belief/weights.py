"""How much each piece of evidence speaks for or against each hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nextprobe.belief.ensemble import FloatArray
from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class EvidenceWeight:
    """The weight of one piece of evidence in favour of one hypothesis.

    Parameters
    ----------
    source : str
        What the evidence is.
    nats : float
        ln P(e | h, earlier evidence) - ln P(e | not h, earlier evidence); positive speaks
        for the hypothesis. One nat is 4.34 decibans.
    """

    source: str
    nats: float


def evidence_weights(log_likelihoods: ArrayLike, log_priors: ArrayLike) -> FloatArray:
    """Return the weight of every item of evidence for every hypothesis.

    The weight of evidence (Good 1950, Probability and the Weighing of Evidence, ch. 6) is the
    change of the log odds of a hypothesis against all others together. What the others predict
    depends on how likely each is, hence on the evidence before: items are taken in the given
    order, and the weights of a hypothesis add up exactly to the whole change of its log odds.
    Another order gives other parts of the same sum.

    Parameters
    ----------
    log_likelihoods : array_like, shape (E, H)
        ln P(e | h); items are independent given a hypothesis.
    log_priors : array_like, shape (H,)
        Of any scale.

    Returns
    -------
    ndarray, shape (E, H)
        In nats; plus infinity for a hypothesis that is left as the only possible one, minus
        infinity for one that is ruled out by the item, 0 where it had been ruled out or was
        the only one before.

    Raises
    ------
    MisuseError
        If shapes do not fit or there is only one hypothesis.
    """
    likelihoods = np.asarray(log_likelihoods, dtype=np.float64)
    priors = np.asarray(log_priors, dtype=np.float64)
    if likelihoods.ndim != 2 or likelihoods.shape[1:] != priors.shape or priors.size < 2:
        raise MisuseError("a row for each item and a column for each of several hypotheses")
    joint = priors + np.vstack((np.zeros_like(priors), np.cumsum(likelihoods, axis=0)))
    with np.errstate(invalid="ignore"):
        change = np.diff(joint - _log_sum_of_others(joint), axis=0)
    return np.nan_to_num(change, nan=0.0, posinf=np.inf, neginf=-np.inf)


def weights_for(
    hypothesis: int, sources: Sequence[str], log_likelihoods: ArrayLike, log_priors: ArrayLike
) -> tuple[EvidenceWeight, ...]:
    """Return the weights for one hypothesis, in the order of the evidence.

    Parameters
    ----------
    hypothesis : int
        Its column.
    sources : sequence of str, length E
        What the items are.
    log_likelihoods, log_priors : array_like, shapes (E, H) and (H,)
        As in :func:`evidence_weights`.
    """
    column = evidence_weights(log_likelihoods, log_priors)[:, hypothesis]
    return tuple(
        EvidenceWeight(source, float(nats)) for source, nats in zip(sources, column, strict=True)
    )


def _log_sum_of_others(logs: FloatArray) -> FloatArray:
    """Return, for each column, the log sum of the exponentials of all other columns.

    Sums from both sides avoid the cancellation of 1 - P where one column has nearly all.
    """
    nothing = np.full((len(logs), 1), -np.inf)
    before = np.logaddexp.accumulate(np.hstack((nothing, logs[:, :-1])), axis=1)
    after = np.logaddexp.accumulate(np.hstack((nothing, logs[:, :0:-1])), axis=1)[:, ::-1]
    return np.asarray(np.logaddexp(before, after))
