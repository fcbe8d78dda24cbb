"""Scores of many played jobs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from nextprobe.diagnosis.options import CLOSE
from nextprobe.errors import MisuseError
from nextprobe.trials.play import Played


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
class Score:
    """How a strategy did over many devices.

    Parameters
    ----------
    mean_cost, half_width : float
        Mean of the whole cost with the half-width of its 95 % interval [currency].
    mean_minutes : float
        Attended time [min].
    mean_steps : float
    right, wrong, declined : Share
        The cause removed and nothing sold in vain; closed otherwise; not closed.
    sold_in_vain, wiped : int
        Jobs in which a good module was replaced, or data were wiped.
    """

    mean_cost: float
    half_width: float
    mean_minutes: float
    mean_steps: float
    right: Share
    wrong: Share
    declined: Share
    sold_in_vain: int
    wiped: int


def score(played: Sequence[Played]) -> Score:
    """Return the score of some played jobs; raises MisuseError if there are none."""
    if not played:
        raise MisuseError("there is nothing to score")
    costs = np.array([job.price for job in played])
    total = len(played)
    spread = float(costs.std(ddof=1)) if total > 1 else 0.0
    right = sum(job.right_repair for job in played)
    closed = sum(job.ending == CLOSE for job in played)
    return Score(
        float(costs.mean()),
        1.96 * spread / total**0.5,
        float(np.mean([job.cost.attended for job in played])) / 60.0,
        float(np.mean([len(job.steps) for job in played])),
        share(right, total),
        share(closed - right, total),
        share(total - closed, total),
        sum(bool(job.sold_in_vain) for job in played),
        sum(job.wiped for job in played),
    )


def gap_closed(ours: float, theirs: float, best: float) -> float | None:
    """Return the share of the gap between two mean costs and the bound that the first closes.

    None where there is no gap.
    """
    gap = theirs - best
    return None if gap <= 0.0 else (theirs - ours) / gap
