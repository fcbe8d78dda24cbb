"""The joint density of readings that share deviations, under all groups in one go.

With θ integrated out the readings of a group are normal with the covariance A Aᵀ + V, where
A = diag(r) F and V = diag(r² own + s²). For fewer shared quantities than readings, Woodbury's
identity (Woodbury 1950; Rasmussen and Williams 2006, A.9 and A.10) needs only M = I + Aᵀ V⁻¹ A of k
by k; the quadratic form is written as a sum of squares, |V^-½ (e − A x)|² + |x|² at
x = M⁻¹ Aᵀ V⁻¹ e, so that nothing cancels however far the readings are from the prediction.
Otherwise the Cholesky factor of the covariance itself is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_state import JointState

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
_LOG_TWO_PI = math.log(2.0 * math.pi)
_BLOCK = 2**22


def joint_log_densities(model: JointModel, values: Sequence[float | None]) -> FloatArray:
    """Return the log density of all readings together under every group, none of them straying.

    Where over-range was seen the factor is a chance instead of a density: one if the group
    predicts over-range; if it predicts a number, the normal tail beyond the limit given the
    numbers and given the over-range readings before it, in the order of the columns. That is exact
    for the first such reading of a group and moment matching for more.

    Parameters
    ----------
    model : JointModel
        Of n readings.
    values : sequence of float or None, length n
        What was seen [unit of the reading]; None is over-range.

    Returns
    -------
    ndarray, shape (G,)
        Natural logarithms [of 1/unit for each number]; minus infinity where a number was seen and
        over-range predicted.

    Raises
    ------
    MisuseError
        If a value can not be read.
    """
    seen = model.observed(values)
    over = np.isinf(seen)
    if (over & ~model.over).any():
        return joint_posterior(model, values).log_density
    numbers = np.flatnonzero(~over)
    part = model.take(numbers)
    if part.shared.factor.shape[1] < part.readings:
        return _of_numbers(part, seen[numbers]).log_density
    return _dense(part, seen[numbers])


def joint_posterior(model: JointModel, values: Sequence[float | None]) -> JointState:
    """Return the state after all readings at once, none of them straying.

    The same as taking them one by one with :meth:`JointState.after`, numbers first.

    Parameters
    ----------
    model, values
        As of :func:`joint_log_densities`.
    """
    seen = model.observed(values)
    over = np.isinf(seen)
    numbers = np.flatnonzero(~over)
    state = _of_numbers(model.take(numbers), seen[numbers])
    for column in np.flatnonzero(over):
        state = state.after(model, int(column), None)
    return state


def patterns(model: JointModel) -> tuple[IntArray, IntArray]:
    """Return groups that stand for all those alike in all but the means, and where each belongs.

    Returns
    -------
    first : ndarray of int, shape (U,)
        One group of each pattern of `inherit`, `deviation` and `over`.
    pattern : ndarray of int, shape (G,)
        Index into `first`.
    """
    keys = np.hstack([model.inherit, model.deviation, model.over])
    if not keys.shape[1]:
        return np.zeros(1, dtype=np.intp), np.zeros(model.groups, dtype=np.intp)
    _, first, pattern = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return first, pattern.reshape(-1)


def given_present(model: JointModel, seen: FloatArray) -> JointState:
    """Return the state after numbers; a reading counts only where it is predicted as a number.

    Parameters
    ----------
    model : JointModel
        Of n readings that showed numbers.
    seen : ndarray, shape (n,)
        The numbers [unit of the reading].
    """
    factor, present = model.shared.factor, ~model.over
    weight = np.where(present, model.inherit / model.noise, 0.0)
    residual = np.where(present, seen - model.expected, 0.0)
    first, pattern = patterns(model)
    root, half_log_det = _roots((weight * model.inherit)[first], factor)
    mean = _applied(root, pattern, (weight * residual) @ factor)
    misfit = residual - model.inherit * (mean @ factor.T)
    squares = np.where(present, misfit**2 / model.noise, 0.0).sum(axis=1) + (mean**2).sum(axis=1)
    logs = np.where(present, _LOG_TWO_PI + np.log(model.noise), 0.0).sum(axis=1)
    log_density = -0.5 * (squares + logs) - half_log_det[pattern]
    return JointState(mean, root, pattern, log_density, np.zeros(len(mean)))


def _of_numbers(model: JointModel, seen: FloatArray) -> JointState:
    state = given_present(model, seen)
    excluded = model.over.any(axis=1)
    return replace(state, log_density=np.where(excluded, -math.inf, state.log_density))


def _roots(weights: FloatArray, factor: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return square roots of (I + Fᵀ diag(w) F)⁻¹, (U, k, k), and half of its log determinants."""
    rank = factor.shape[1]
    pairs = (factor[:, :, None] * factor[:, None, :]).reshape(len(factor), rank * rank)
    information = (weights @ pairs).reshape(len(weights), rank, rank) + np.eye(rank)
    lower = np.linalg.cholesky(information)
    half = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    return np.linalg.inv(lower).transpose(0, 2, 1), half


def _applied(root: FloatArray, pattern: IntArray, target: FloatArray) -> FloatArray:
    """Return R Rᵀ b of each group, (G, k)."""
    found = np.empty_like(target)
    step = max(1, _BLOCK // max(1, root.shape[1] ** 2))
    for start in range(0, len(target), step):
        part = slice(start, start + step)
        roots = root[pattern[part]]
        across = target[part][:, None, :] @ roots
        found[part] = (roots @ across.transpose(0, 2, 1))[..., 0]
    return found


def _dense(model: JointModel, seen: FloatArray) -> FloatArray:
    """Return the log density of numbers from the covariance itself."""
    common = model.shared.factor @ model.shared.factor.T
    first, pattern = patterns(model)
    inherit = np.where(model.over, 0.0, model.inherit)[first]
    covariance = inherit[:, :, None] * common * inherit[:, None, :]
    diagonal = np.einsum("uii->ui", covariance)
    diagonal += np.where(model.over, 1.0, model.noise)[first]
    lower = np.linalg.cholesky(covariance)
    logs = 2.0 * np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    residual = np.where(model.over, 0.0, seen - model.expected)
    log_density = np.empty(model.groups)
    step = max(1, _BLOCK // max(1, model.readings**2))
    for start in range(0, model.groups, step):
        part = slice(start, start + step)
        white = np.linalg.solve(lower[pattern[part]], residual[part][..., None])[..., 0]
        log_density[part] = -0.5 * (white**2).sum(axis=1)
    log_density -= 0.5 * (logs[pattern] + model.readings * _LOG_TWO_PI)
    log_density[model.over.any(axis=1)] = -math.inf
    return log_density
