"""Sets of independent faults, best first, with a bound on the weight of those left out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.belief.ensemble import log_sum
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

# A bound on what is omitted that is as large as this says nothing.
_VACUOUS = 0.5
_FIRST_DEPTH, _STEP = 12.0, 6.0
_DEEPEST = 2000.0
_ROUNDING = 1e-15


@dataclass(frozen=True, eq=False)
class SetPosterior:
    """Sets of faults after evidence.

    Parameters
    ----------
    present : ndarray of bool, shape (R, N)
        Faults of each set; those that touch no observation are left open and read False.
    log_weights : ndarray, shape (R,)
        Logarithm of prior times likelihood.
    log_omitted : float
        Logarithm of an upper bound on the weight of all sets that were left out.
    priors : ndarray, shape (N,)
    touching : ndarray of bool, shape (N,)
        Which faults touch an observation.
    """

    present: BoolArray
    log_weights: FloatArray
    log_omitted: float
    priors: FloatArray
    touching: BoolArray

    @cached_property
    def log_evidence(self) -> float:
        """Logarithm of the probability of the evidence, as far as enumerated: a lower bound.

        What was left out adds no more than `log_omitted` says. Minus infinity if no set explains
        the evidence.
        """
        return log_sum(self.log_weights)

    @cached_property
    def probabilities(self) -> FloatArray:
        """Posterior probability of each set among the enumerated ones, shape (R,).

        Raises
        ------
        MisuseError
            If none of them explains the evidence.
        """
        if self.log_evidence == -math.inf:
            raise MisuseError("no set that is considered explains the evidence")
        return np.exp(self.log_weights - self.log_evidence)

    @property
    def marginals(self) -> FloatArray:
        """Posterior probability of each fault, shape (N,).

        A fault that touches no observation keeps its prior: it factors out.
        """
        found = self.probabilities @ self.present
        return np.asarray(np.where(self.touching, found, self.priors))

    @property
    def omitted_share(self) -> float:
        """Upper bound on the posterior probability of all sets that were left out."""
        total = float(np.logaddexp(self.log_evidence, self.log_omitted))
        return math.exp(self.log_omitted - total) if math.isfinite(total) else 1.0

    @property
    def vacuous(self) -> bool:
        """Whether the bound says nothing: half of the belief or more may be left out."""
        return self.omitted_share >= _VACUOUS

    def probability(self, faults: Sequence[int]) -> float:
        """Return the posterior probability that, of what touches observations, just these are."""
        wanted = np.zeros(self.priors.size, dtype=np.bool_)
        wanted[list(faults)] = True
        return float(self.probabilities[(self.present == wanted).all(axis=1)].sum())


def enumerate_sets(
    priors: ArrayLike,
    log_likelihood: Callable[[BoolArray], FloatArray],
    *,
    largest_set: int | None = None,
    log_factors: ArrayLike | None = None,
    log_bound: float = 0.0,
    touching: ArrayLike | None = None,
    enough: float = 1e-12,
    most: int = 1 << 20,
) -> SetPosterior:
    """Weigh sets of independent faults, best first by prior times the bound of their likelihood.

    The likelihood of a set ``S`` must not exceed ``exp(log_bound + sum of log_factors over S)``.
    Sets come in the order of prior times this bound; what is left out weighs at most the rest of
    the sum of that product over all sets, which is known in closed form.

    Parameters
    ----------
    priors : array_like, shape (N,)
        Probability of each fault, below one.
    log_likelihood : callable
        From an array of bool, shape (R, N), to natural logarithms, shape (R,).
    largest_set : int or None
        Largest number of faults at once, of those that touch an observation; None for all.
    log_factors : array_like or None, shape (N,)
        What each fault adds to the bound of the likelihood; zero if left out, which is right for
        probabilities.
    log_bound : float
        The bound for no fault at all.
    touching : array_like of bool or None, shape (N,)
        Which faults touch an observation; all if left out. The others are not enumerated.
    enough : float
        Stop where the sets left out hold no more than this share.
    most : int
        Largest number of sets.

    Raises
    ------
    MisuseError
        If a prior is not a probability below one, or shapes do not fit.
    """
    chances = np.asarray(priors, dtype=np.float64)
    if chances.ndim != 1 or not ((chances >= 0.0) & (chances < 1.0)).all():
        raise MisuseError("priors are probabilities below one")
    count = chances.size
    factors = np.zeros(count) if log_factors is None else np.asarray(log_factors, np.float64)
    touches = np.ones(count, np.bool_) if touching is None else np.asarray(touching, np.bool_)
    if factors.shape != chances.shape or touches.shape != chances.shape:
        raise MisuseError("a factor and a mark for each fault are needed")
    with np.errstate(divide="ignore"):
        scores = np.where(touches, np.log(chances) - np.log1p(-chances) + factors, -np.inf)
    base = float(np.log1p(-chances[touches]).sum())
    order = np.argsort(-scores, kind="stable")
    order = order[np.isfinite(scores[order])]
    largest = order.size if largest_set is None else min(largest_set, order.size)
    whole = _Whole(scores[order], largest)
    depth = _FIRST_DEPTH
    while True:
        found = _above(scores[order], largest, whole.best - depth, most)
        if found is None:
            break
        present = _as_bool(found, order, count)
        prior = base + _sums(found, scores[order] - factors[order])
        log_weights = prior + np.asarray(log_likelihood(present), dtype=np.float64)
        log_omitted = base + log_bound + whole.log_left_out(found, scores[order])
        result = SetPosterior(present, log_weights, log_omitted, chances, touches)
        complete = sum(len(each) for each in found) == whole.number
        if complete or result.omitted_share <= enough or depth > _DEEPEST:
            return result
        depth += _STEP
    if depth == _FIRST_DEPTH:
        raise MisuseError(f"more than {most} sets of up to {largest} faults are about as likely")
    return result


class _Whole:
    """All sets up to a size, in closed form.

    Parameters
    ----------
    scores : ndarray, shape (T,)
        Logarithm of what each fault contributes to the product, falling.
    largest : int
    """

    def __init__(self, scores: FloatArray, largest: int) -> None:
        self.number = sum(math.comb(scores.size, size) for size in range(largest + 1))
        self.best = float(np.maximum(scores[:largest], 0.0).sum())
        self._log_total = float(np.logaddexp(0.0, scores).sum())
        # The number of faults, were each there with the chance that its score stands for.
        counts = np.ones(1)
        for chance in 1.0 / (1.0 + np.exp(-scores)):
            counts = np.convolve(counts, (1.0 - chance, chance))
        self._within = float(counts[: largest + 1].sum())
        self._larger = float(counts[largest + 1 :].sum())

    def log_left_out(self, found: Sequence[IntArray], scores: FloatArray) -> float:
        """Return the logarithm of the sum over all sets that are not in `found`."""
        number = sum(len(each) for each in found)
        listed = float(np.exp(_sums(found, scores) - self._log_total).sum())
        missing = max(self._within - listed, 0.0) + _ROUNDING if number < self.number else 0.0
        left = missing + self._larger
        return self._log_total + math.log(left) if left > 0.0 else -math.inf


def _above(scores: FloatArray, largest: int, threshold: float, most: int) -> list[IntArray] | None:
    """Return all sets of each size that score at least `threshold`; None if there are too many.

    `scores` are falling, so what extends a set of places goes on behind its last one.
    """
    gains = np.append(np.cumsum(np.maximum(scores, 0.0)[::-1])[::-1], 0.0)
    sets, sums = np.zeros((1, 0), dtype=np.intp), np.zeros(1)
    found = [sets[sums >= threshold]]
    total = len(found[0])
    for size in range(1, largest + 1):
        after = sets[:, -1] + 1 if size > 1 else np.zeros(1, dtype=np.intp)
        # A place is reached if the set scores enough with it and with all that may still add.
        ends = np.searchsorted(-(scores + gains[1:]), sums - threshold, side="right")
        lengths = np.maximum(ends - after, 0)
        if total + lengths.sum() > most:
            return None
        row = np.repeat(np.arange(len(sets)), lengths)
        starts = np.cumsum(lengths) - lengths
        place = np.arange(lengths.sum()) - np.repeat(starts, lengths) + after[row]
        sets = np.concatenate([sets[row], place[:, None]], axis=1)
        sums = sums[row] + scores[place]
        found.append(sets[sums >= threshold])
        total += len(found[-1])
    return found


def _sums(found: Sequence[IntArray], values: FloatArray) -> FloatArray:
    return np.concatenate([values[each].sum(axis=1) for each in found])


def _as_bool(found: Sequence[IntArray], order: IntArray, count: int) -> BoolArray:
    """Return sets of places as marks of faults, shape (R, N)."""
    blocks = []
    for each in found:
        block = np.zeros((len(each), count), dtype=np.bool_)
        np.put_along_axis(block, order[each], True, axis=1)
        blocks.append(block)
    return np.concatenate(blocks)
