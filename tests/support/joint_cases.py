"""Readings that share deviations, drawn at random, and what they come to the long way round."""

from __future__ import annotations

from itertools import product

import numpy as np
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, norm

from nextprobe.belief import JointModel, SharedDeviation, Stray

LIMIT = 0.7


def some_shared(rng: np.random.Generator, readings: int, rank: int) -> SharedDeviation:
    """Return deviations of about 30 mV that readings share and up to 5 mV that they do not."""
    return SharedDeviation(
        0.01 * rng.normal(size=readings),
        0.03 / np.sqrt(max(rank, 1)) * rng.normal(size=(readings, rank)),
        rng.uniform(0.0, 0.005, readings) ** 2,
    )


def some_model(
    rng: np.random.Generator, groups: int, readings: int, rank: int, over: float = 0.0
) -> JointModel:
    """Return predictions of some groups, a share of them over-range."""
    shape = (groups, readings)
    return JointModel(
        some_shared(rng, readings, rank),
        rng.uniform(0.4, 0.6, shape),
        rng.choice([0.0, 0.5, 1.0, 1.0], shape),
        rng.uniform(0.001, 0.01, shape),
        over=rng.random(shape) < over,
        limit=LIMIT,
    )


def some_stray(rng: np.random.Generator, groups: int, readings: int) -> Stray:
    """Return chances to stray up to three in ten."""
    shape = (groups, readings)
    return Stray(rng.uniform(0.0, 0.3, shape), np.log(rng.uniform(0.2, 0.5, shape)))


def dense(model: JointModel, group: int) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and covariance of all readings of a group."""
    inherit = model.inherit[group]
    covariance = inherit[:, None] * model.shared.covariance * inherit
    return model.expected[group], covariance + np.diag(model.deviation[group] ** 2)


def log_normal(values: np.ndarray, mean: np.ndarray, covariance: np.ndarray) -> float:
    """Return the log density of a normal of any dimension, zero included."""
    return float(multivariate_normal.logpdf(values, mean, covariance)) if len(values) else 0.0


def conditional(
    mean: np.ndarray, covariance: np.ndarray, given: list[int], values: np.ndarray, wanted: int
) -> tuple[float, float]:
    """Return mean and standard deviation of one quantity given others."""
    inside = covariance[np.ix_(given, given)]
    gain = np.linalg.solve(inside, covariance[given, wanted]) if given else np.zeros(0)
    centre = mean[wanted] + gain @ (values - mean[given])
    return float(centre), float(
        np.sqrt(covariance[wanted, wanted] - gain @ covariance[given, wanted])
    )


def log_long_way(
    model: JointModel, values: list[float | None], stray: Stray, group: int, most: int | None = None
) -> float:
    """Return the log density summed over all sets of straying readings, one by one.

    Readings that share something count towards `most`; at most one may be over-range.
    """
    mean, covariance = dense(model, group)
    count = len(values)
    sharing = ~model.over[group] & (model.inherit[group] != 0.0)
    terms = []
    for strayed in product([False, True], repeat=count):
        if most is not None and sum(np.array(strayed) & sharing) > most:
            continue
        held = [i for i in range(count) if not strayed[i]]
        if any(model.over[group, i] and values[i] is not None for i in held):
            continue
        log_term = sum(
            np.log(stray.chance[group, i]) + stray.log_density[group, i]
            if strayed[i]
            else np.log1p(-stray.chance[group, i])
            for i in range(count)
        )
        numbers = [i for i in held if values[i] is not None]
        seen = np.array([values[i] for i in numbers], dtype=float)
        log_term += log_normal(seen, mean[numbers], covariance[np.ix_(numbers, numbers)])
        for i in held:
            if values[i] is None and not model.over[group, i]:
                centre, deviation = conditional(mean, covariance, numbers, seen, i)
                log_term += norm.logsf(model.limit[i], centre, deviation)
        terms.append(log_term)
    return float(logsumexp(terms)) if terms else -np.inf
