"""What the meter should show at a point, healthy and under every candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import interval_probabilities, log_likelihood
from nextprobe.board import (
    OVER_RANGE,
    BenchSetup,
    Board,
    FaultKind,
    Meter,
    MeterMode,
    MeterRange,
    OverRange,
)
from nextprobe.circuit import FaultTable
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.coverage import covered_nets
from nextprobe.diagnosis.fault_sets import FaultSets
from nextprobe.diagnosis.set_readings import SetReadings, SetRows
from nextprobe.diagnosis.tables import FaultTables
from nextprobe.errors import Finding
from nextprobe.packs.schema import Pack

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

# How far a computed shift may itself be wrong, as a share of the shift.
_SHIFT_ERROR = 0.1
# A fault that shifts a computed reading by less than this does not show in it [V].
_UNMOVED = 1e-3
_SLIP_OVER_RANGE = 0.4
_BROAD_OVER_RANGE = 0.25


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
    """

    value: float | OverRange
    boards: int
    source: str


@dataclass(frozen=True, eq=False)
class Expectation:
    """Prediction of one reading under each set of faults; the last row is the healthy board.

    The rows are the H candidates alone, the sets of several if there are any, then none: H + 1
    stands for their number here, whatever it is.

    Parameters
    ----------
    mean, deviation : ndarray, shape (H + 1,)
        Of the reading where it is a number [V, ohm or F].
    over : ndarray of bool, shape (H + 1,)
        Where over-range is expected instead.
    broad : ndarray, shape (H + 1,)
        Chance that the reading is anything at all.
    meter : MeterRange
        Range that it is taken in.
    slip : float
        Chance that the probe slips.
    source : str
        What the healthy value rests on.
    """

    mean: FloatArray
    deviation: FloatArray
    over: BoolArray
    broad: FloatArray
    meter: MeterRange
    slip: float
    source: str

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
        observed = _number(value)
        sharp = log_likelihood(
            observed,
            self.mean,
            self.deviation,
            self.over,
            limit=self.meter.full_scale,
            slip_probability=self.slip**touches,
            slip_over_probability=_SLIP_OVER_RANGE,
        )
        anything = _log_broad(observed, self.meter.full_scale)
        with np.errstate(divide="ignore"):
            return np.logaddexp(np.log1p(-self.broad) + sharp, np.log(self.broad) + anything)

    def differs(self, one: IntArray, other: IntArray) -> BoolArray:
        """Return where two rows differ by more than the spread of good boards.

        Parameters
        ----------
        one, other : ndarray of int, shape (R,)
            Rows.
        """
        moved = np.abs(self.mean[one] - self.mean[other]) > self.spread
        over, was_over = self.over[one], self.over[other]
        unlike = (over != was_over) | (self.broad[one] > self.broad[other])
        return np.asarray(np.where(over & was_over, False, moved) | unlike)

    def log_either(self, one: float | OverRange, other: float | OverRange) -> FloatArray:
        """Return the log likelihood of two readings of which at least one must be a slip.

        Shape (H + 1,). The two differ by more than the meter does, and nothing changed between.
        """
        slipped = np.log(self.slip) + np.array(
            [_log_broad(_number(value), self.meter.full_scale) for value in (one, other)]
        )
        first = self.log_likelihood(one) + slipped[1]
        second = self.log_likelihood(other) + slipped[0]
        return np.asarray(np.logaddexp(first, second))

    def bins(self, edges: Sequence[float]) -> FloatArray:
        """Return the chance of each interval, then of over-range, shape (H + 1, K + 1).

        `edges` bound K intervals; the confirmed reading of a run is meant, so no slip.
        """
        sharp = interval_probabilities(
            edges, self.mean, self.deviation, self.over, limit=self.meter.full_scale
        )
        widths = np.diff(np.clip(edges, 0.0, self.meter.full_scale))
        anything = np.append(
            widths / self.meter.full_scale * (1.0 - _BROAD_OVER_RANGE), _BROAD_OVER_RANGE
        )
        mixed: FloatArray = (1.0 - self.broad)[:, None] * sharp + self.broad[:, None] * anything
        return mixed


def _number(value: float | OverRange) -> float | None:
    return None if isinstance(value, OverRange) else value


def _log_broad(observed: float | None, full_scale: float) -> float:
    if observed is None:
        return float(np.log(_BROAD_OVER_RANGE))
    return float(np.log((1.0 - _BROAD_OVER_RANGE) / full_scale))


class Expectations:
    """Predictions for every point and set-up, computed when they are first asked for.

    Parameters
    ----------
    pack : Pack
    board : Board
    listed : sequence of Candidate, length H
    complaint : str
        The function that fails.
    references : mapping of (str, MeterMode) to Reference
        Known-good readings by net or pin and mode.
    meter : Meter
    tables : FaultTables
        Where tables are kept.
    """

    def __init__(
        self,
        pack: Pack,
        board: Board,
        listed: Sequence[Candidate],
        complaint: str,
        *,
        references: Mapping[tuple[str, MeterMode], Reference],
        meter: Meter,
        tables: FaultTables,
    ) -> None:
        self.pack = pack
        self.board = board
        self.listed = listed
        self.references = references
        self.meter = meter
        self.findings: list[Finding] = []
        self.covered = covered_nets(board, pack, pack.functions[complaint])
        self._tables = tables
        self._known: dict[tuple[str, BenchSetup], Expectation] = {}
        self._columns = [i for i, item in enumerate(listed) if _in_table(item)]
        self._families = _by_magnitude(listed)
        self._several = SetReadings(board, self.meter)
        self._broad_in_region = np.append([_broadness(item) for item in listed], 0.0)

    def at(self, point: str, setup: BenchSetup) -> Expectation:
        """Return what to expect at `point`; raises MisuseError for an unknown point."""
        key = (point, setup)
        if key not in self._known:
            self._known[key] = self._expectation(point, setup)
        return self._known[key]

    def with_sets(self, sets: FaultSets) -> Expectations:
        """Return the same with rows for sets of several faults between candidates and none."""
        other = copy(self)
        other._known = {}
        faults = tuple(item.fault for item in self.listed)
        other._several = self._several.with_sets(sets, faults)
        return other

    def table(self, setup: BenchSetup) -> FaultTable:
        """Return the fault table of a set-up."""
        faults = tuple(self.listed[i].fault for i in self._columns)
        meter_range = self.meter.range_for(setup.mode)
        table, findings = self._tables.get(self.board, setup, meter_range, faults)
        self.findings.extend(item for item in findings if item not in self.findings)
        return table

    def reference(self, point: str, mode: MeterMode) -> Reference | None:
        """Return what is known of good boards at a point, or anywhere on its net."""
        found = self.references.get((point, mode))
        return found or self.references.get((self.board.net_of(point), mode))

    def _expectation(self, point: str, setup: BenchSetup) -> Expectation:
        net = self.board.net_of(point)
        table = self.table(setup)
        values, over = table.row(point if point in table.points else net)
        healthy = table.healthy(point if point in table.points else net)
        base = 0.0 if isinstance(healthy, OverRange) else healthy
        mean = np.full(len(self.listed) + 1, base)
        is_over = np.full(len(self.listed) + 1, isinstance(healthy, OverRange))
        mean[self._columns] = np.where(over, base, values)
        is_over[self._columns] = over
        in_region = net in self.covered
        broad = self._broad_in_region if in_region else np.zeros_like(self._broad_in_region)
        between = self._between_magnitudes(mean, is_over)
        rows = self._several.rows(point, setup, SetRows(mean, is_over, broad, between))
        return self._corrected(point, setup, rows)

    def _between_magnitudes(self, mean: FloatArray, over: BoolArray) -> FloatArray:
        """Return the spread of readings within each step of the grid of magnitudes.

        A magnitude anywhere between its neighbours' midpoints reads about evenly between theirs,
        and an even spread over a width w has the standard deviation w / √12.
        """
        spread = np.zeros_like(mean)
        for family in self._families:
            values = np.where(over[family], np.nan, mean[family])
            middles = (values[1:] + values[:-1]) / 2.0
            bounds = np.concatenate([values[:1], middles, values[-1:]])
            width = np.abs(np.diff(bounds))
            width[0] *= 2.0
            width[-1] *= 2.0
            spread[family] = np.nan_to_num(width) / np.sqrt(12.0)
        return spread

    def _corrected(self, point: str, setup: BenchSetup, rows: SetRows) -> Expectation:
        """Move the computed values to where good boards of this type really read."""
        mean, over = rows.mean, rows.over
        reference = self.reference(point, setup.mode)
        settings = self.pack.readings
        spread = settings.model
        source = "computed from the circuit"
        shift = mean - mean[-1]
        if reference is not None:
            mean, over = _anchor(mean, over, reference.value)
            spread = settings.between_boards * float(np.sqrt(1.0 + 1.0 / reference.boards))
            source = reference.source
        meter = self.meter.range_for(setup.mode)
        scale = _relative(mean)
        noise = np.array([meter.standard_uncertainty(value) for value in mean])
        deviation = np.sqrt(
            (spread * scale) ** 2 + (_SHIFT_ERROR * shift) ** 2 + noise**2 + rows.between**2
        )
        return Expectation(mean, deviation, over, rows.broad, meter, settings.slip, source)


def _by_magnitude(listed: Sequence[Candidate]) -> list[NDArray[np.intp]]:
    """Return the candidates of each family of several magnitudes, smallest first."""
    families: dict[str, list[int]] = {}
    for index, item in enumerate(listed):
        if item.fault.magnitude is not None:
            families.setdefault(item.fault.family, []).append(index)
    return [
        np.array(sorted(found, key=lambda index: listed[index].fault.magnitude or 0.0))
        for found in families.values()
        if len(found) > 1
    ]


def _in_table(item: Candidate) -> bool:
    return item.fault.kind.is_electrical and item.located


def _broadness(item: Candidate) -> float:
    """Return the chance that a reading in the region is anything, for faults without a model."""
    kind = item.fault.kind
    if kind is FaultKind.UNLISTED:
        return 0.5
    if kind is FaultKind.RESIDUE:
        return 0.2
    return 0.08 if kind.is_electrical and not item.located else 0.0


def _anchor(
    mean: FloatArray, over: BoolArray, good: float | OverRange
) -> tuple[FloatArray, BoolArray]:
    """Put the healthy reading at `good`; faults keep their effect in proportion."""
    if isinstance(good, OverRange):
        unmoved = (over == over[-1]) & (np.abs(mean - mean[-1]) < _UNMOVED)
        return mean, over | unmoved
    computed, was_over = mean[-1], bool(over[-1])
    moved = np.where(over == was_over, False, over)
    if was_over:
        return np.where(over, good, mean), moved
    if computed > 1e-3:
        return np.where(mean <= computed, mean * (good / computed), mean + good - computed), moved
    return mean + (good - computed), moved


def _relative(mean: FloatArray) -> FloatArray:
    """Return how much of the healthy spread each value inherits: a short has none."""
    healthy = abs(mean[-1])
    if healthy < 1e-6:
        return np.ones_like(mean)
    scale: FloatArray = np.clip(np.abs(mean) / healthy, 0.0, 2.0)
    return scale
