"""Readings that, under some groups, share nothing with the others."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_stray import Stray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
_LOG_TWO_PI = math.log(2.0 * math.pi)


class Alone(NamedTuple):
    """Readings that can be summed over straying or not one by one.

    Parameters
    ----------
    which : ndarray of bool, shape (G, n)
        Where over-range is predicted, nothing is inherited, or the reading strays for certain.
    log_density : ndarray, shape (G,)
        Of all of these together.
    strayed : ndarray, shape (G, n)
        Chance that each of them strayed, given what it showed; zero elsewhere.
    log_held : ndarray, shape (G, n)
        Log chance that a reading does not stray; zero where it strays for certain.
    """

    which: BoolArray
    log_density: FloatArray
    strayed: FloatArray
    log_held: FloatArray


def alone(model: JointModel, seen: FloatArray, stray: Stray) -> Alone:
    """Return them, for what was seen, over-range as infinity."""
    certain = stray.chance == 1.0
    which = model.over | (model.inherit == 0.0) | certain
    log_held = np.where(certain, 0.0, stray.log_held)
    held = np.where(certain, -math.inf, log_held + _log_likelihood(model, seen))
    both = np.logaddexp(held, stray.log_strayed)
    possible = both > -math.inf
    share = np.exp(np.where(possible, stray.log_strayed, -math.inf) - np.where(possible, both, 0.0))
    total = np.where(which, both, 0.0).sum(axis=1)
    return Alone(which, total, np.where(which, share, 0.0), log_held)


def _log_likelihood(model: JointModel, seen: FloatArray) -> FloatArray:
    """Return that of each reading if it inherits nothing, (G, n)."""
    beyond = np.isinf(seen)
    root = np.sqrt(model.noise)
    score = (np.where(beyond, model.limit, seen) - model.expected) / root
    number = -0.5 * (score**2 + _LOG_TWO_PI) - np.log(root)
    as_number = np.where(beyond, log_ndtr(-score), number)
    return np.asarray(np.where(model.over, np.where(beyond, 0.0, -math.inf), as_number))
