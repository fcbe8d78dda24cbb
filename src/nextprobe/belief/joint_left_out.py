"""The joint density of readings without some of them, with no new factorisation for each choice.

Let K be the covariance of the numbers under a group, e what they lie from their means, B = K⁻¹ and
α = B e. Leaving out the readings S leaves the density p(y) / p(y_S | the others), and p(y_S | the
others) is normal with the covariance B_SS⁻¹ about y_S − B_SS⁻¹ α_S: for one reading these are the
leave-one-out formulas of Rasmussen and Williams 2006, 5.10 to 5.12; for more they follow from the
same partitioned inverse (their A.11 and A.12). A further quantity with the regression b = K⁻¹ c on
the numbers then moves by −b_Sᵀ B_SS⁻¹ α_S and widens by b_Sᵀ B_SS⁻¹ b_S.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_normal import given_present, patterns

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
_LOG_TWO_PI = math.log(2.0 * math.pi)


class JointNumbers(NamedTuple):
    """Numbers of G groups as a whole, and what they say of q readings beyond their limits.

    Parameters
    ----------
    log_density : ndarray, shape (G,)
        Of the numbers.
    square : ndarray, shape (G,)
        eᵀ K⁻¹ e.
    pattern : ndarray of int, shape (G,)
        Which of U patterns each group has.
    precision : ndarray, shape (U, n, n)
        B [1/unit²].
    pull : ndarray, shape (G, n)
        α [1/unit].
    regression : ndarray, shape (U, n, q)
        b of each reading beyond [1].
    mean : ndarray, shape (G, q)
        Of the readings beyond, given the numbers [unit].
    covariance : ndarray, shape (U, q, q)
        Likewise [unit²].
    """

    log_density: FloatArray
    square: FloatArray
    pattern: IntArray
    precision: FloatArray
    pull: FloatArray
    regression: FloatArray
    mean: FloatArray
    covariance: FloatArray


class LeftOut(NamedTuple):
    """What leaving out each of C sets of numbers does.

    Parameters
    ----------
    log_density : ndarray, shape (G, C)
        Of the numbers left out, given the others.
    shift : ndarray, shape (G, C, q)
        What it adds to the means of the readings beyond [unit].
    widening : ndarray, shape (U, C, q, q)
        What it adds to their covariances [unit²].
    """

    log_density: FloatArray
    shift: FloatArray
    widening: FloatArray


def joint_numbers(
    model: JointModel, seen: FloatArray, numbers: IntArray, beyond: IntArray
) -> JointNumbers:
    """Return what the numbers say together; readings predicted over-range do not count.

    Parameters
    ----------
    model : JointModel
        Of all readings.
    seen : ndarray
        What was seen [unit of the reading].
    numbers, beyond : ndarray of int
        Which readings showed a number and which over-range.
    """
    part, later = model.take(numbers), model.take(beyond)
    first, pattern = patterns(model)
    if part.shared.factor.shape[1] < part.readings:
        inside = _by_factor(part, seen[numbers], first)
    else:
        inside = _by_covariance(part, seen[numbers], first, pattern)
    log_density, square, precision, pull = inside
    common = part.shared.factor @ later.shared.factor.T
    inherit = part.inherit[first], later.inherit[first]
    across = inherit[0][:, :, None] * common * inherit[1][:, None, :]
    regression = precision @ across
    mean = later.expected + np.einsum("gn,gnq->gq", pull, across[pattern])
    covariance = _covariance(later, first) - across.transpose(0, 2, 1) @ regression
    return JointNumbers(log_density, square, pattern, precision, pull, regression, mean, covariance)


class _Inside(NamedTuple):
    """The first fields of :class:`JointNumbers`."""

    log_density: FloatArray
    square: FloatArray
    precision: FloatArray
    pull: FloatArray


def _by_factor(part: JointModel, seen: FloatArray, first: IntArray) -> _Inside:
    """Return it by Woodbury's identity, for few shared quantities."""
    state = given_present(part, seen)
    residual = np.where(part.over, 0.0, seen - part.expected)
    misfit = residual - part.inherit * (state.mean @ part.shared.factor.T)
    pull = misfit / part.noise
    square = (pull * misfit).sum(axis=1) + (state.mean**2).sum(axis=1)
    weight = (part.inherit / part.noise)[first]
    near = weight[:, :, None] * (part.shared.factor @ state.root[state.pattern[first]])
    precision = -near @ near.transpose(0, 2, 1)
    np.einsum("uii->ui", precision)[...] += 1.0 / part.noise[first]
    return _Inside(state.log_density, square, precision, pull)


def _by_covariance(
    part: JointModel, seen: FloatArray, first: IntArray, pattern: IntArray
) -> _Inside:
    """Return it from the covariance itself, where the shared quantities fill it."""
    lower = np.linalg.cholesky(_covariance(part, first))
    inverse = np.linalg.inv(lower)
    residual = np.where(part.over, 0.0, seen - part.expected)
    white = np.einsum("gij,gj->gi", inverse[pattern], residual)
    pull = np.einsum("gij,gi->gj", inverse[pattern], white)
    square = (white**2).sum(axis=1)
    half = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    logs = 0.5 * _LOG_TWO_PI * (~part.over).sum(axis=1) + half[pattern]
    return _Inside(-0.5 * square - logs, square, inverse.transpose(0, 2, 1) @ inverse, pull)


def _covariance(model: JointModel, first: IntArray) -> FloatArray:
    """Return the covariances of all readings by pattern, (U, n, n) [unit²]."""
    inherit = model.inherit[first]
    common = model.shared.factor @ model.shared.factor.T
    covariance = inherit[:, :, None] * common * inherit[:, None, :]
    np.einsum("uii->ui", covariance)[...] += model.noise[first]
    return covariance


def left_out(joint: JointNumbers, sets: IntArray) -> LeftOut:
    """Return what leaving out sets of one size does.

    Parameters
    ----------
    joint : JointNumbers
        All numbers.
    sets : ndarray of int, shape (C, m)
        Which are left out.
    """
    inverse, log_det = inverted(joint.precision[:, sets[:, :, None], sets[:, None, :]])
    pull = joint.pull[:, sets]
    weighed = np.einsum("gcab,gcb->gca", inverse[joint.pattern], pull)
    square = (pull * weighed).sum(axis=2)
    log_density = 0.5 * (log_det[joint.pattern] - square - sets.shape[1] * _LOG_TWO_PI)
    regression = joint.regression[:, sets]
    shift = -np.einsum("gcaq,gca->gcq", regression[joint.pattern], weighed)
    spread = np.einsum("ucab,ucbq->ucaq", inverse, regression)
    return LeftOut(log_density, shift, np.einsum("ucaq,ucap->ucqp", regression, spread))


def inverted(matrices: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return inverses and log determinants of small positive definite matrices, (…, m, m)."""
    size = matrices.shape[-1]
    if size == 0:
        return matrices, np.zeros(matrices.shape[:-2])
    if size == 1:
        return 1.0 / matrices, np.log(matrices[..., 0, 0])
    if size == 2:
        one, other, both = matrices[..., 0, 0], matrices[..., 1, 1], matrices[..., 0, 1]
        determinant = one * other - both**2
        rows = [np.stack([other, -both], axis=-1), np.stack([-both, one], axis=-1)]
        adjugate = np.stack(rows, axis=-2)
        return adjugate / determinant[..., None, None], np.log(determinant)
    lower = np.linalg.cholesky(matrices)
    logs = 2.0 * np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1)
    inverse = np.linalg.inv(matrices)
    return np.asarray(inverse, dtype=np.float64), np.asarray(logs, dtype=np.float64)
