"""An unknown scale of the shared deviations, as a mixture over a few known ones.

How much boards of a type differ is itself known from few boards. With the covariance of the
deviations c C, ν/c distributed as chi-squared with ν degrees of freedom, the deviations follow the
multivariate Student t with scale matrix C (Kotz and Nadarajah 2004, Multivariate t Distributions,
1.2). A grid of scales stands for the integral, and for any other prior of c.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammainccinv, gammaincinv

from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_shared import SharedDeviation
from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]

_SUM_TOLERANCE = 1e-9


@dataclass(frozen=True, eq=False)
class Scales:
    """A discrete prior of the factor c on the covariance of the shared deviations.

    Each group of a model becomes J groups, one for each scale and next to each other, that can be
    treated like any others: in batch, one reading at a time, with strays (repeat theirs with
    :meth:`Stray.repeated`). Afterwards :meth:`log_density` sums them up again.

    Parameters
    ----------
    factors : ndarray, shape (J,)
        Of the covariance C; positive [1].
    weights : ndarray, shape (J,)
        Their chances.

    Raises
    ------
    MisuseError
        If a factor is not positive or the chances do not sum to one.
    """

    factors: FloatArray
    weights: FloatArray

    def __post_init__(self) -> None:
        factors = np.asarray(self.factors, dtype=np.float64)
        weights = np.asarray(self.weights, dtype=np.float64)
        if factors.ndim != 1 or factors.shape != weights.shape or not factors.size:
            raise MisuseError("as many weights as scales are needed, one at least")
        if not ((factors > 0.0) & np.isfinite(factors)).all():
            raise MisuseError("a scale must be a positive number")
        if (weights < 0.0).any() or abs(weights.sum() - 1.0) > _SUM_TOLERANCE:
            raise MisuseError("weights of scales must sum to one")
        object.__setattr__(self, "factors", factors)
        object.__setattr__(self, "weights", weights)

    @classmethod
    def inverse_gamma(cls, degrees: float, spacing: float = 0.5, tail: float = 1e-6) -> Scales:
        """Return a grid for c with ν/c chi-squared, which makes the deviations Student t.

        Evenly spaced in ln c: the trapezoidal rule converges geometrically there (Trefethen and
        Weideman 2014, SIAM Review 56, 385-458).

        Parameters
        ----------
        degrees : float
            ν, as many boards' worth of evidence as the scale rests on; positive.
        spacing : float
            Of ln c. The error of a density of n readings grows as the spacing reaches √(2/(n + ν)).
        tail : float
            Chance at either end that the grid leaves out.

        Raises
        ------
        MisuseError
            If a parameter is not positive or the tail not below a half.
        """
        if not (degrees > 0.0 and spacing > 0.0 and 0.0 < tail < 0.5):
            raise MisuseError("degrees, spacing and tail must be positive, the tail below a half")
        half = 0.5 * degrees
        low, high = gammaincinv(half, tail) / half, gammainccinv(half, tail) / half
        count = int(np.ceil(np.log(high / low) / spacing)) + 1
        log_precision = np.linspace(np.log(low), np.log(high), count)
        log_weight = half * (log_precision - np.exp(log_precision))
        weight = np.exp(log_weight - log_weight.max())
        return cls(np.exp(-log_precision), weight / weight.sum())

    def of_model(self, model: JointModel) -> JointModel:
        """Return the model of G × J groups; the offset is not scaled.

        Group ``g`` at scale ``j`` is number ``g J + j``.
        """
        times = len(self.factors)
        roots = np.sqrt(np.tile(self.factors, model.groups))[:, None]
        shared = model.shared
        centred = SharedDeviation(np.zeros_like(shared.offset), shared.factor, shared.own)
        return JointModel(
            centred,
            model.expected.repeat(times, axis=0),
            model.inherit.repeat(times, axis=0) * roots,
            model.deviation.repeat(times, axis=0),
            over=model.over.repeat(times, axis=0),
            limit=model.limit,
        )

    def log_density(self, log_densities: ArrayLike) -> FloatArray:
        """Return the log density under each group, (G,), from those at each scale, (G × J,)."""
        return np.asarray(np.logaddexp.reduce(self._joint(log_densities), axis=1))

    def shares(self, log_densities: ArrayLike) -> FloatArray:
        """Return the chance of each scale given the group and the readings, (G, J)."""
        joint = self._joint(log_densities)
        total = np.logaddexp.reduce(joint, axis=1, keepdims=True)
        return np.asarray(np.exp(joint - np.where(total > -np.inf, total, 0.0)))

    def predicted(
        self, log_densities: ArrayLike, mean: FloatArray, deviation: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return mean and standard deviation of further readings over all scales, each (G, m).

        Parameters
        ----------
        log_densities : array_like, shape (G × J,)
            Of the readings so far.
        mean, deviation : ndarray, shape (G × J, m)
            As of :meth:`JointState.predicted` of the model of G × J groups.
        """
        shares = self.shares(log_densities)[:, :, None]
        shape = (len(shares), len(self.factors), mean.shape[1])
        means, variances = mean.reshape(shape), deviation.reshape(shape) ** 2
        centre = (shares * means).sum(axis=1)
        spread = (shares * (variances + (means - centre[:, None]) ** 2)).sum(axis=1)
        return centre, np.sqrt(spread)

    def _joint(self, log_densities: ArrayLike) -> FloatArray:
        with np.errstate(divide="ignore"):
            logs = np.log(self.weights)
        by_scale = np.asarray(log_densities, dtype=np.float64).reshape(-1, len(self.factors))
        return np.asarray(by_scale + logs)
