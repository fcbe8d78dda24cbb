"""The chance of one numeric observation that may be over-range and may be a slip.

Let the prediction under a hypothesis be normal with mean ``m`` and standard deviation ``d``,
or over-range. With slip probability ``s``, over-range chance of a slip ``q``, range limit ``L``
and a slip that shows a number being uniform over ``span`` below the limit:

===================  =====================================  =================================
prediction           density of a number y <= L             atom at over-range
===================  =====================================  =================================
a number             (1-s) N(y; m, d^2) + s (1-q) / span    (1-s) Q((L-m)/d) + s q
over-range           s (1-q) / span                         (1-s) + s q
===================  =====================================  =================================

with Q the upper tail of the standard normal distribution: a number that would lie beyond
the limit reads over-range. Density and atom together have the mass one. The mixture is the usual
contamination model for outliers (Box and Tiao 1968, Biometrika 55, 119-129).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import log_ndtr, ndtr

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
_LOG_ROOT_TWO_PI = 0.5 * math.log(2.0 * math.pi)


def log_likelihood(
    observed: float | None,
    mean: ArrayLike,
    deviation: ArrayLike,
    over: ArrayLike,
    *,
    limit: float,
    slip_probability: float,
    slip_over_probability: float,
    span: float | None = None,
) -> FloatArray:
    """Return the log density, or log probability if over-range, under every hypothesis.

    Parameters
    ----------
    observed : float or None
        What was seen, in any unit; None is over-range.
    mean, deviation : array_like, shape (H,) or ()
        Of the predicted number, in the same unit; not used where `over` is true.
    over : array_like of bool, shape (H,) or ()
        Where over-range is predicted.
    limit : float
        The greatest number that can be shown.
    slip_probability : float
        Chance that the observation has nothing to do with the prediction, from 0 to 1.
    slip_over_probability : float
        Chance that a slip reads over-range, from 0 to 1.
    span : float or None
        Width of the interval below the limit over which slips that show a number are spread
        [unit of `mean`]; the limit itself if None, for readings that are not negative. A number
        below the interval is taken to be as likely as one inside.

    Returns
    -------
    ndarray, shape (H,)
        Natural logarithms; minus infinity only if slips are excluded.

    Raises
    ------
    MisuseError
        If a probability, the span or a deviation is out of range, or the number above the limit.
    """
    _check_slips(slip_probability, slip_over_probability)
    width = _width(limit, span)
    means, deviations, overs = _predictions(mean, deviation, over)
    if observed is not None and observed > limit:
        raise MisuseError(f"{observed} is beyond the limit {limit}: over-range, not a number")
    with np.errstate(divide="ignore"):
        log_held = math.log1p(-slip_probability) if slip_probability < 1.0 else -math.inf
        if observed is None:
            log_slip = np.log(slip_probability * slip_over_probability)
            predicted = np.where(overs, 0.0, log_ndtr((means - limit) / deviations))
        else:
            log_slip = np.log(slip_probability * (1.0 - slip_over_probability) / width)
            score = (observed - means) / deviations
            density = -0.5 * score * score - np.log(deviations) - _LOG_ROOT_TWO_PI
            predicted = np.where(overs, -np.inf, density)
        return np.asarray(np.logaddexp(log_held + predicted, log_slip))


def interval_probabilities(
    edges: ArrayLike,
    mean: ArrayLike,
    deviation: ArrayLike,
    over: ArrayLike,
    *,
    limit: float,
    slip_probability: float = 0.0,
    slip_over_probability: float = 0.0,
    span: float | None = None,
) -> FloatArray:
    """Return the chance of each interval of readings, and of over-range, by hypothesis.

    Parameters
    ----------
    edges : array_like, shape (K + 1,)
        Bounds of K intervals, rising. The first interval also takes what lies below it, the
        last what lies above it up to the limit; an interval beyond the limit is never met.
    mean, deviation, over : array_like, shape (H,) or ()
        As in :func:`log_likelihood`.
    limit, slip_probability, slip_over_probability, span : float
        As in :func:`log_likelihood`.

    Returns
    -------
    ndarray, shape (H, K + 1)
        The last column is over-range; rows sum to one.

    Raises
    ------
    MisuseError
        If the edges do not rise, or as :func:`log_likelihood`.
    """
    bounds = np.array(edges, dtype=np.float64)
    if bounds.size < 2 or not (bounds[1:] > bounds[:-1]).all():
        raise MisuseError("edges of intervals must rise")
    _check_slips(slip_probability, slip_over_probability)
    width = _width(limit, span)
    means, deviations, overs = _predictions(mean, deviation, over)
    bounds[0], bounds[-1] = -math.inf, limit
    upper = np.minimum(bounds[1:], limit)
    below = ndtr((upper - means[:, None]) / deviations[:, None])
    below[overs] = 0.0
    mass = np.diff(below, axis=1, prepend=0.0, append=1.0)
    filled = np.clip((np.clip(bounds, limit - width, limit) - (limit - width)) / width, 0.0, 1.0)
    slips = np.append(np.diff(filled) * (1.0 - slip_over_probability), slip_over_probability)
    return np.asarray((1.0 - slip_probability) * mass + slip_probability * slips)


def _check_slips(probability: float, over_probability: float) -> None:
    for value in (probability, over_probability):
        if not 0.0 <= value <= 1.0:
            raise MisuseError(f"{value} is not a probability")


def _width(limit: float, span: float | None) -> float:
    width = limit if span is None else span
    if not 0.0 < width < math.inf:
        raise MisuseError(f"slips can not be spread over {width}")
    return width


def _predictions(
    mean: ArrayLike, deviation: ArrayLike, over: ArrayLike
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    means, deviations, overs = np.broadcast_arrays(
        np.atleast_1d(np.asarray(mean, dtype=np.float64)),
        np.asarray(deviation, dtype=np.float64),
        np.asarray(over, dtype=np.bool_),
    )
    if not (deviations > 0.0)[~overs].all():
        raise MisuseError("the standard deviation of a prediction must be positive")
    return np.where(overs, 0.0, means), np.where(overs, 1.0, deviations), overs
