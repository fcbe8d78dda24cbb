"""What is predicted of one reading under everything that may be wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import interval_probabilities, log_likelihood
from nextprobe.board import OVER_RANGE, MeterRange, OverRange
from nextprobe.diagnosis.magnitudes import Refined, refined
from nextprobe.diagnosis.vague import ANYTHING, bins, log_densities
from nextprobe.reference import MeasuredSpread

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

_SLIP_OVER_RANGE = 0.4
# At a point one good board in a hundred is odd: it differs by four times as much (the scale mixture
# of Box and Tiao 1968, Biometrika 55, 119-129; the figures are common practice, no published
# source).
_ODD = 4.0
_SCALE_CHANCES = np.array([0.99, 0.01])


@dataclass(frozen=True)
class Reference:
    """Readings of the same point on boards that work.

    Parameters
    ----------
    value : float or OverRange
        Their mean [V, ohm or F].
    boards : int
        How many boards stand behind it.
    source : str
        Where it came from.
    spread : MeasuredSpread or None
        How far apart they read, where boards were measured one by one.
    """

    value: float | OverRange
    boards: int
    source: str
    spread: MeasuredSpread | None = None

    @property
    def deviation(self) -> float | None:
        """Standard uncertainty of one more board; None unless enough boards were measured."""
        if self.spread is None or not self.spread.is_enough or isinstance(self.value, OverRange):
            return None
        return self.spread.predictive_deviation(self.boards)


@dataclass(frozen=True, eq=False)
class Expectation:
    """Prediction of one reading under each set of faults; the last row is the healthy board.

    The rows are the H candidates alone, the sets of several if there are any, then none: H + 1
    stands for their number here, whatever it is.

    Parameters
    ----------
    mean, deviation : ndarray, shape (H + 1,)
        Of the reading where it is a number [V, ohm or F].
    step : ndarray, shape (2, H + 1)
        How far the readings of one step of a grid of magnitudes reach below and above the mean:
        they lie evenly between [V, ohm or F].
    between : ndarray, shape (H + 1,)
        What good boards of the type differ by, as a standard deviation; part of `deviation`.
    over : ndarray of bool, shape (H + 1,)
        Where over-range is expected instead.
    disturbed : ndarray, shape (3, H + 1)
        Chance of each way of :mod:`nextprobe.diagnosis.vague` in which the reading is disturbed.
    meter : MeterRange
        Range that it is taken in.
    slip : float
        Chance that the probe slips.
    source : str
        What the healthy value rests on.
    inherit : ndarray, shape (H + 1,) or (1,)
        How much of the healthy board's deviation each row takes part in [1].
    common : ndarray, shape (k,)
        What the healthy reading feels of each quantity that readings deviate by together; part of
        `deviation` [V, ohm or F]. Empty where it shares nothing.
    """

    mean: FloatArray
    deviation: FloatArray
    step: FloatArray
    between: FloatArray
    over: BoolArray
    disturbed: FloatArray
    meter: MeterRange
    slip: float
    source: str
    inherit: FloatArray = field(default_factory=lambda: np.ones(1))
    common: FloatArray = field(default_factory=lambda: np.zeros(0))

    @cached_property
    def kinds(self) -> tuple[IntArray, IntArray]:
        """One row of each kind that predicts the same, and the kind of each row, (H + 1,)."""
        inherit = np.broadcast_to(self.inherit, self.mean.shape)
        columns = [self.mean, self.deviation, *self.step, self.between, self.over, inherit]
        table = np.ascontiguousarray(np.stack([*columns, *self.disturbed], axis=1)) + 0.0
        whole = table.view(np.dtype((np.void, table.dtype.itemsize * table.shape[1])))[:, 0]
        _, first, kind = np.unique(whole, return_index=True, return_inverse=True)
        return first, kind.reshape(-1)

    def sharpened(self, rows: IntArray, mean: FloatArray, deviation: FloatArray) -> Expectation:
        """Return what is predicted under some rows once more is known of how this board deviates.

        Parameters
        ----------
        rows : ndarray of int, shape (B,)
            Of this prediction; rows may be repeated.
        mean, deviation : ndarray, shape (B,)
            Of the reading under each, given what else was read [V, ohm or F].

        Returns
        -------
        Expectation
            With B rows, and the healthy board as it was before as the last.
        """
        every = np.append(rows, len(self.mean) - 1)
        return replace(
            self,
            mean=np.append(mean, self.mean[-1]),
            deviation=np.append(deviation, self.deviation[-1]),
            step=self.step[:, every],
            between=self.between[every],
            over=self.over[every],
            disturbed=self.disturbed[:, every],
            inherit=np.broadcast_to(self.inherit, self.mean.shape)[every],
        )

    @property
    def own_deviation(self) -> FloatArray:
        """Standard deviation of what the reading shares with no other, shape (H + 1,)."""
        together = self.inherit**2 * float(self.common @ self.common)
        return np.sqrt(np.maximum(self.deviation**2 - together, (1e-3 * self.deviation) ** 2))

    @property
    def healthy(self) -> float | OverRange:
        """What a good board shows."""
        return OVER_RANGE if self.over[-1] else float(self.mean[-1])

    @property
    def spread(self) -> float:
        """Standard deviation of the healthy reading."""
        return float(self.deviation[-1])

    def log_likelihood(self, value: float | OverRange, touches: int = 1) -> FloatArray:
        """Return the log likelihood of a reading under each row, shape (H + 1,).

        Parameters
        ----------
        value : float or OverRange
            What was read.
        touches : int
            How many separate touches agree on it; a slip must then have happened to all.
        """
        key = value, touches
        if key not in self._weighed:
            self._weighed[key] = self._log_likelihood(value, touches)
            self._weighed[key].flags.writeable = False
        return self._weighed[key]

    @cached_property
    def _weighed(self) -> dict[tuple[float | OverRange, int], FloatArray]:
        """What has been asked for already: a job is replayed often."""
        return {}

    def _log_likelihood(self, value: float | OverRange, touches: int) -> FloatArray:
        fine = self._fine
        by_scale = [
            log_likelihood(
                _number(value),
                fine.mean,
                deviation,
                self.over[fine.row],
                limit=self.meter.full_scale,
                slip_probability=self.slip**touches,
                slip_over_probability=_SLIP_OVER_RANGE,
            )
            for deviation in (fine.deviation, self._odd.deviation)
        ]
        with np.errstate(divide="ignore"):
            sharp = np.log(fine.averaged(_SCALE_CHANCES @ np.exp(by_scale)))
        vague = np.exp(self._log_vague(value)) @ self.disturbed
        with np.errstate(divide="ignore"):
            return np.asarray(np.logaddexp(np.log(1.0 - self._anyhow) + sharp, np.log(vague)))

    def log_held(self, value: float | OverRange, touches: int = 1) -> FloatArray:
        """Return the parts of the log likelihood in which the reading is as predicted, (2, H + 1).

        Neither did a probe slip nor is the reading disturbed: the board is usual at this point, or
        odd.
        """
        with np.errstate(divide="ignore"):
            weight = np.log((1.0 - self.slip**touches) * _SCALE_CHANCES)[:, None]
            calm = np.log(1.0 - self._anyhow)
            parts = [np.log(fine.averaged(np.exp(self._log_exactly(fine, value))))
                     for fine in (self._fine, self._odd)]  # fmt: skip
        return np.asarray(weight + calm + np.array(parts))

    def _log_exactly(self, fine: Refined, value: float | OverRange) -> FloatArray:
        return log_likelihood(
            _number(value),
            fine.mean,
            fine.deviation,
            self.over[fine.row],
            limit=self.meter.full_scale,
            slip_probability=0.0,
            slip_over_probability=_SLIP_OVER_RANGE,
        )

    @property
    def odd_deviation(self) -> FloatArray:
        """What an odd board deviates by on top, as a standard deviation, shape (H + 1,)."""
        return _ODD * self.between

    @cached_property
    def _fine(self) -> Refined:
        return refined(self.mean, self.deviation, self.step)

    @cached_property
    def _odd(self) -> Refined:
        """The same on a board that is odd here."""
        wide = np.hypot(self.deviation, self.odd_deviation)
        return refined(self.mean, wide, self.step)

    @cached_property
    def _anyhow(self) -> FloatArray:
        """Chance that the reading is disturbed in one way or another, shape (H + 1,)."""
        return np.asarray(np.minimum(self.disturbed.sum(axis=0), 1.0))

    def _log_vague(self, value: float | OverRange) -> FloatArray:
        return log_densities(value, self.healthy, self.meter.full_scale)

    def log_ceiling(self, value: float | OverRange) -> float:
        """Return what no set of faults can exceed as the log likelihood of a reading."""
        if isinstance(value, OverRange):
            return 0.0
        sharpest = self.meter.standard_uncertainty(0.0) * np.sqrt(2.0 * np.pi)
        vaguest = float(self._log_vague(value).max())
        return max(-float(np.log(sharpest)), vaguest)

    def differs(self, one: IntArray, other: IntArray) -> BoolArray:
        """Return where two rows differ by more than the spread of good boards.

        Parameters
        ----------
        one, other : ndarray of int, shape (R,)
            Rows.
        """
        moved = np.abs(self.mean[one] - self.mean[other]) > self.spread
        over, was_over = self.over[one], self.over[other]
        unlike = (over != was_over) | (self._anyhow[one] > self._anyhow[other])
        return np.asarray(np.where(over & was_over, False, moved) | unlike)

    def log_either(self, one: float | OverRange, other: float | OverRange) -> FloatArray:
        """Return the log likelihood of two readings of which at least one must be a slip.

        Shape (H + 1,). The two differ by more than the meter does, and nothing changed between.
        """
        slipped = np.log(self.slip) + [self._log_vague(value)[ANYTHING] for value in (one, other)]
        first = self.log_likelihood(one) + slipped[1]
        second = self.log_likelihood(other) + slipped[0]
        return np.asarray(np.logaddexp(first, second))

    def bins(self, edges: Sequence[float]) -> FloatArray:
        """Return the chance of each interval, then of over-range, shape (H + 1, K + 1).

        `edges` bound K intervals; the confirmed reading of a run is meant, so no slip.
        """
        fine = self._fine
        by_scale = [
            interval_probabilities(
                edges,
                fine.mean,
                deviation,
                self.over[fine.row],
                limit=self.meter.full_scale,
            )
            for deviation in (fine.deviation, self._odd.deviation)
        ]
        sharp = fine.averaged(np.tensordot(_SCALE_CHANCES, by_scale, 1))
        vague = bins(edges, self.healthy, self.meter.full_scale)
        mixed: FloatArray = (1.0 - self._anyhow)[:, None] * sharp + self.disturbed.T @ vague
        return mixed


def _number(value: float | OverRange) -> float | None:
    return None if isinstance(value, OverRange) else value
