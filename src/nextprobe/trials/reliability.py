"""Whether chances come true: calibration error, log score, Brier score and skill.

Forecasts of one device hang together, so that devices and not single forecasts are what varies:
they are kept as sums by bin for each device, and errors and bands are taken over devices.

Sources: Kumar, Liang and Ma 2019, Verified Uncertainty Calibration (NeurIPS), for the debiased
estimator; Broecker 2012 and Ferro and Fricker 2012 for the same in forecasting; Gneiting and
Raftery 2007, Strictly Proper Scoring Rules, Prediction, and Estimation (JASA 102, 359-378), for
the scores. Cited from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]

EDGES = (
    0.0, 1e-4, 3e-4, 1e-3, 3e-3, 0.01, 0.03, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0,
)  # fmt: skip
"""Bounds of the bins: close together where most of the chances are."""

# The log score of what was ruled out would be infinite; it is taken at this chance.
LEAST = 1e-9
_RESAMPLES = 1000


@dataclass(frozen=True, eq=False)
class Tally:
    """Forecasts summed up.

    Parameters
    ----------
    count, chance, happened : ndarray, shape (K,)
        By bin: how many forecasts, the sum of their chances, and how many came true.
    log_score : float
        Sum of minus the logarithm of the chance of what came to be [nat].
    brier, reference : float
        Sum of squared errors of the forecasts, and of those that they are compared with.
    """

    count: FloatArray
    chance: FloatArray
    happened: FloatArray
    log_score: float = 0.0
    brier: float = 0.0
    reference: float = 0.0

    def as_data(self) -> dict[str, Any]:
        """Return it as plain data for a file: bins by number, without the empty ones."""
        sums = np.stack([self.count, self.chance, self.happened], axis=1)
        return {
            "bins": {str(k): sums[k].tolist() for k in np.flatnonzero(self.count).tolist()},
            "scores": [self.log_score, self.brier, self.reference],
        }

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.count + other.count,
            self.chance + other.chance,
            self.happened + other.happened,
            self.log_score + other.log_score,
            self.brier + other.brier,
            self.reference + other.reference,
        )


def tally_from(data: Mapping[str, Any]) -> Tally:
    """Return a tally from plain data; raises KeyError or ValueError where it is none."""
    sums = np.zeros((len(EDGES) - 1, 3))
    for place, found in data["bins"].items():
        sums[int(place)] = found
    log_score, brier, reference = data["scores"]
    count, chance, happened = sums.T.copy()
    return Tally(count, chance, happened, log_score, brier, reference)


def tally(chances: ArrayLike, happened: ArrayLike, reference: ArrayLike | None = None) -> Tally:
    """Sum up forecasts of things that happen or not.

    Parameters
    ----------
    chances : array_like, shape (N,)
        From 0 to 1.
    happened : array_like of bool, shape (N,)
    reference : array_like, shape (N,), or None
        Chances to compare with, such as rates; the forecasts themselves if left out.

    Raises
    ------
    MisuseError
        If shapes differ or a chance is out of range.
    """
    p = np.asarray(chances, dtype=np.float64)
    y = np.asarray(happened, dtype=np.float64)
    r = p if reference is None else np.asarray(reference, dtype=np.float64)
    if p.ndim != 1 or p.shape != y.shape or p.shape != r.shape:
        raise MisuseError("there must be one outcome and one reference for each chance")
    if p.size and not (p.min() >= -1e-9 and p.max() <= 1.0 + 1e-9):
        raise MisuseError("chances lie between 0 and 1")
    p = np.clip(p, 0.0, 1.0)
    bins = np.clip(np.searchsorted(EDGES, p, side="right") - 1, 0, len(EDGES) - 2)
    count, chance, true = (
        np.bincount(bins, weights, len(EDGES) - 1).astype(np.float64)
        for weights in (np.ones_like(p), p, y)
    )
    seen = np.where(y > 0.0, p, 1.0 - p)
    log_score = float(-np.log(np.maximum(seen, LEAST)).sum())
    brier, compared = (float(((forecast - y) ** 2).sum()) for forecast in (p, r))
    return Tally(count, chance, true, log_score, brier, compared)


@dataclass(frozen=True)
class Reliability:
    """How far chances are from what happens.

    Parameters
    ----------
    ece_debiased : float
        Root of the mean squared calibration error, chance taken out of it; 0 where there is less
        error than chance alone would make.
    ece_band : (float, float)
        Its 95 % band, by a bootstrap over devices.
    ece_plain : float
        The same with chance left in it.
    log_score : float
        Mean of minus the logarithm of the chance of what came to be [nat].
    brier : float
        Mean squared error.
    brier_skill : float or None
        Share of the squared error of the reference that is gone; None where that has none.
    n, devices : int
        How many forecasts, and devices.
    curve : tuple of (float, float, int)
        Mean chance, share that came true, and how many, of each bin that is not empty.
    """

    ece_debiased: float
    ece_band: tuple[float, float]
    ece_plain: float
    log_score: float
    brier: float
    brier_skill: float | None
    n: int
    devices: int
    curve: tuple[tuple[float, float, int], ...]


def reliability(by_device: Sequence[Tally], seed: int = 0) -> Reliability:
    """Return how reliable forecasts were; raises MisuseError if there are none."""
    filled = [each for each in by_device if each.count.sum() > 0.0]
    if not filled:
        raise MisuseError("there are no forecasts to judge")
    count = np.stack([each.count for each in filled])
    gap = np.stack([each.chance - each.happened for each in filled])
    total = sum(filled[1:], start=filled[0])
    n = float(total.count.sum())
    squared = debiased_square(count, gap)
    plain = plain_square(count, gap)
    return Reliability(
        _root(squared),
        _band(count, gap, squared, plain, seed),
        _root(plain),
        total.log_score / n,
        total.brier / n,
        1.0 - total.brier / total.reference if total.reference > 0.0 else None,
        int(n),
        len(filled),
        _curve(total),
    )


def plain_square(count: FloatArray, gap: FloatArray) -> float:
    """Return the mean squared calibration error with chance left in it.

    Parameters
    ----------
    count : ndarray, shape (D, K)
        Forecasts of each device in each bin.
    gap : ndarray, shape (D, K)
        Sum of their chances less how many came true.
    """
    n = count.sum(axis=0)
    means = np.divide(gap.sum(axis=0), n, out=np.zeros_like(n), where=n > 0.0)
    return float((n * means**2).sum() / n.sum())


def debiased_square(count: FloatArray, gap: FloatArray) -> float:
    """Return an unbiased estimate of the mean squared calibration error; it may be negative.

    Kumar, Liang and Ma 2019, sec. 4: from the square of each bin's mean error its sampling variance
    is taken. The variance is that of a ratio over devices; with one forecast per device and equal
    chances in a bin it is theirs, ``y (1 - y) / (n - 1)``. Parameters as :func:`plain_square`.
    Bins that only one device has met say nothing of their variance and are left out.
    """
    n = count.sum(axis=0)
    devices = (count > 0.0).sum(axis=0)
    known = devices > 1
    if not known.any():
        return 0.0
    means = np.divide(gap.sum(axis=0), n, out=np.zeros_like(n), where=n > 0.0)
    rest = ((gap - count * means) ** 2).sum(axis=0)[known]
    met = devices[known]
    variance = rest * met / (met - 1) / n[known] ** 2
    return float((n[known] * (means[known] ** 2 - variance)).sum() / n.sum())


def _band(
    count: FloatArray, gap: FloatArray, squared: float, plain: float, seed: int
) -> tuple[float, float]:
    """Return the 95 % band, by the basic bootstrap.

    The devices at hand are the truth of the resamples, and their error is the plain one: by how
    much a resample is off it, the estimate itself may be off (Davison and Hinkley 1997, Bootstrap
    Methods and their Application, sec. 5.2; cited from memory).
    """
    rng = np.random.default_rng(seed)
    size = len(count)
    found = []
    for _ in range(_RESAMPLES):
        times = np.bincount(rng.integers(size, size=size), minlength=size)
        drawn = np.repeat(np.arange(size), times)
        found.append(debiased_square(count[drawn], gap[drawn]))
    low, high = np.quantile(np.array(found) - plain, [0.025, 0.975])
    return _root(squared - float(high)), _root(squared - float(low))


def _root(square: float) -> float:
    return float(max(square, 0.0) ** 0.5)


def _curve(total: Tally) -> tuple[tuple[float, float, int], ...]:
    sums = zip(total.chance, total.happened, total.count, strict=True)
    return tuple(
        (float(chance / count), float(happened / count), int(count))
        for chance, happened, count in sums
        if count > 0.0
    )
