"""Scores of many played jobs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betaincinv, stdtrit

from nextprobe.diagnosis.options import CLOSE, DECLINE, ESCALATE
from nextprobe.errors import MisuseError
from nextprobe.trials.outcome import Outcome

_RESAMPLES = 2000


@dataclass(frozen=True)
class Share:
    """A share with the interval that it lies in.

    Parameters
    ----------
    count, total : int
    low, high : float
        Exact binomial bounds at 95 % (Clopper and Pearson 1934, Biometrika 26, 404-413).
    """

    count: int
    total: int
    low: float
    high: float

    @property
    def value(self) -> float:
        """The share itself."""
        return self.count / self.total


def share(count: int, total: int) -> Share:
    """Return a share with its exact interval; raises MisuseError for an empty total."""
    if total <= 0 or not 0 <= count <= total:
        raise MisuseError(f"{count} of {total} is no share")
    low = float(betaincinv(count, total - count + 1, 0.025)) if count else 0.0
    high = float(betaincinv(count + 1, total - count, 0.975)) if count < total else 1.0
    return Share(count, total, low, high)


@dataclass(frozen=True)
class Mean:
    """A mean with its 95 % interval.

    Parameters
    ----------
    value, low, high : float
        By the Student t distribution over devices; without width where there is one device.
    """

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2.0


def mean_of(values: ArrayLike) -> Mean:
    """Return the mean of some numbers; raises MisuseError if there are none."""
    numbers = np.asarray(values, dtype=np.float64)
    if not numbers.size:
        raise MisuseError("there is nothing to score")
    middle, half = float(numbers.mean()), 0.0
    if numbers.size > 1:
        spread = float(numbers.std(ddof=1))
        half = float(stdtrit(numbers.size - 1, 0.975)) * spread / numbers.size**0.5
    return Mean(middle, middle - half, middle + half)


@dataclass(frozen=True)
class Score:
    """How a strategy did over many devices.

    Parameters
    ----------
    cost : Mean
        Of the whole job [currency].
    minutes, elapsed_minutes : Mean
        Attended time, and time until the end [min].
    steps : float
        Mean number.
    right, wrong, given_up : Share
        The cause removed and nothing sold in vain; closed otherwise; not closed.
    comebacks : int
        Closed though the complaint is not gone.
    declined, escalated : int
        The two ways not to close.
    sold_in_vain, parts_wasted, wiped : int
        Jobs in which a good module was sold, and how many modules; jobs in which data was lost.
    """

    cost: Mean
    minutes: Mean
    elapsed_minutes: Mean
    steps: float
    right: Share
    wrong: Share
    given_up: Share
    comebacks: int
    declined: int
    escalated: int
    sold_in_vain: int
    parts_wasted: int
    wiped: int


def score(jobs: Sequence[Outcome]) -> Score:
    """Return the score of some played jobs; raises MisuseError if there are none."""
    total = len(jobs)
    cost = mean_of([job.price for job in jobs])
    endings = Counter(job.ending for job in jobs)
    right = sum(job.right_repair for job in jobs)
    closed = endings[CLOSE]
    return Score(
        cost,
        mean_of([job.attended / 60.0 for job in jobs]),
        mean_of([job.elapsed / 60.0 for job in jobs]),
        sum(job.steps for job in jobs) / total,
        share(right, total),
        share(closed - right, total),
        share(total - closed, total),
        sum(job.ending == CLOSE and not job.cured for job in jobs),
        endings[DECLINE],
        endings[ESCALATE],
        sum(bool(job.vain) for job in jobs),
        sum(len(job.vain) for job in jobs),
        sum(job.wiped for job in jobs),
    )


def paired_difference(ours: Sequence[Outcome], theirs: Sequence[Outcome]) -> Mean:
    """Return by how much another strategy is dearer on the same devices [currency]."""
    pairs = zip(theirs, ours, strict=True)
    return mean_of([their.price - our.price for their, our in pairs])


@dataclass(frozen=True)
class Gap:
    """The share of what separates an order from perfect knowledge that another strategy closes.

    Parameters
    ----------
    value : float
        1 at perfect knowledge, 0 at the order.
    low, high : float
        Bounds of the 95 % percentile interval of a bootstrap over devices (Efron and Tibshirani
        1993, An Introduction to the Bootstrap, ch. 13); from minus to plus infinity where some
        resamples leave no gap.
    """

    value: float
    low: float
    high: float


def gap_with_interval(
    ours: Sequence[Outcome], theirs: Sequence[Outcome], best: Sequence[Outcome], seed: int = 0
) -> Gap | None:
    """Return the gap that is closed over the same devices; None where there is no gap."""
    prices = np.array([[job.price for job in jobs] for jobs in (ours, theirs, best)])
    value = gap_closed(*prices.mean(axis=1).tolist())
    if value is None:
        return None
    rng = np.random.default_rng(seed)
    count = prices.shape[1]
    resampled = [prices[:, rng.integers(count, size=count)].mean(axis=1) for _ in range(_RESAMPLES)]
    found = [gap_closed(*means.tolist()) for means in resampled]
    closed = [gap for gap in found if gap is not None]
    if len(closed) < len(found):
        return Gap(value, -np.inf, np.inf)
    low, high = np.quantile(closed, [0.025, 0.975])
    return Gap(value, float(low), float(high))


def gap_closed(ours: float, theirs: float, best: float) -> float | None:
    """Return the share of the gap between two mean costs and the bound that the first closes.

    None where there is no gap.
    """
    gap = theirs - best
    return None if gap <= 0.0 else (theirs - ours) / gap
