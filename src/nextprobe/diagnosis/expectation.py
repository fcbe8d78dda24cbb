"""What the meter should show at a point, healthy and under every candidate."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import (
    GROUND,
    BenchSetup,
    Board,
    FaultKind,
    Meter,
    MeterMode,
    MeterRange,
    OverRange,
    Part,
    PartKind,
)
from nextprobe.circuit import FaultTable
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.common_deviations import CommonDeviations, share_of_a_clamp
from nextprobe.diagnosis.coverage import covered_nets
from nextprobe.diagnosis.effects import site_of
from nextprobe.diagnosis.fault_sets import FaultSets
from nextprobe.diagnosis.inheritance import inherited, is_leak
from nextprobe.diagnosis.magnitudes import by_magnitude, steps_of
from nextprobe.diagnosis.measuring import Measurement, bridge_of
from nextprobe.diagnosis.predicted import Expectation, Reference
from nextprobe.diagnosis.set_readings import SetReadings, SetRows
from nextprobe.diagnosis.tables import FaultTables
from nextprobe.diagnosis.vague import disturbing
from nextprobe.errors import Finding
from nextprobe.packs.schema import ModeSpread, Pack
from nextprobe.reference import published_spread

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

# How far a computed shift may itself be wrong, as a share of the shift. What pins a reading to next
# to nothing leaves nothing to be wrong about.
_SHIFT_ERROR = 0.1
# A fault that shifts a computed reading by less than this does not show in it [V].
_UNMOVED = 1e-3
# A resistor up to this much carries what happens on one net to the other [ohm].
_JOINING_OHMS = 300.0
# No junction drops next to nothing: of 131 published clamp tables none is below 0.30 V at 0.3 mA
# while the median is 0.54 V. A computed prediction spreads by this share of itself at most.
_LARGEST_SHARE = 0.28
# Share of the variance about good boards that each reading has for itself (common practice, no
# published source).
_OWN_REFERRED = 0.1
# Where a pack says nothing of a meter mode.
_ANY_MODE = ModeSpread(model=0.4, between_boards=0.2)


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
        self._alone: dict[tuple[str, BenchSetup], SetRows] = {}
        self._before: dict[str, Expectation] = {}
        self._about: dict[str, FloatArray] = {}
        self._built: dict[BenchSetup, FaultTable] = {}
        self._columns = [i for i, item in enumerate(listed) if _in_table(item)]
        self._families = by_magnitude([item.fault for item in listed])
        self._several = SetReadings(board, self.meter)
        modelled = [item.fault.kind.is_electrical and item.located for item in listed]
        self._disturbing = disturbing([item.fault for item in listed], modelled)

    def at(self, point: str, setup: BenchSetup) -> Expectation:
        """Return what to expect at `point`; raises MisuseError for an unknown point."""
        key = (point, setup)
        if key not in self._known:
            self._known[key] = self._expectation(point, setup)
        return self._known[key]

    def before(self, point: str, setup: BenchSetup) -> Expectation:
        """Return what to expect at `point` as long as nothing was read.

        The same as `at`, but for what readings deviate by together, which matters once there are
        some. Where `foresee` was asked for the point, the rest of the board is not solved for it.
        """
        if _is_usual(setup) and setup not in self._built and point in self._before:
            return self._before[point]
        return self.at(point, setup)

    def foresee(self, points: Sequence[str], setup: BenchSetup) -> None:
        """Predict some points together, unless the whole board is known already.

        Raises
        ------
        MisuseError
            For an unknown point.
        """
        wanted = tuple(point for point in points if point not in self._before)
        if not _is_usual(setup) or setup in self._built or not wanted:
            return
        table = self._few(setup, self._columns, wanted)
        for point in wanted:
            rows = self._several.rows(point, setup, self._rows(table, self._columns, point))
            self._before[point] = self._corrected(point, setup, rows, table)

    def solve_board(self, setup: BenchSetup) -> Callable[[], object] | None:
        """Return what solves all points in a usual set-up, in any thread; None if that is done."""
        if setup in self._built:
            return None
        faults = tuple(self.listed[i].fault for i in self._columns)
        meter_range = self.meter.range_for(setup.mode)
        return partial(self._tables.get, self.board, setup, meter_range, faults)

    def predicts(self, point: str, setup: BenchSetup) -> bool:
        """Tell whether a reading can be predicted: live, only rails whose voltage is known."""
        board = self.board
        if not board.has_point(point) or not board.has_point(setup.clamped):
            return False
        return setup.mode is not MeterMode.DC_VOLTS or board.net_of(point) in self.rails

    @cached_property
    def rails(self) -> dict[str, float]:
        """Voltage of each rail that the pack names and the board has [V]."""
        return {name: volts for name, volts in self.pack.rails.items() if name in self.board.nets}

    @property
    def suspected_nets(self) -> Iterator[str]:
        """Nets at which a candidate sits, one for each candidate."""
        return (net for nets in self.nets_of.values() for net in nets)

    def with_sets(self, sets: FaultSets) -> Expectations:
        """Return the same with rows for sets of several faults between candidates and none."""
        other = copy(self)
        other._known = {}
        other._before = {}
        faults = tuple(item.fault for item in self.listed)
        other._several = self._several.with_sets(sets, faults)
        return other

    def about(self, item: Measurement) -> FloatArray:
        """Return which candidates a measurement is made for, as 0 or 1, shape (H,).

        Those at its own parts; between two contacts of one part their bridge; to ground those on
        its net; on a live rail chips without output as well.
        """
        if item.id not in self._about and item.across_contacts:
            keys = [each.fault.key for each in self.listed]
            self._about[item.id] = np.array([key == bridge_of(item).key for key in keys], float)
        if item.id not in self._about:
            places = {item.point.partition(".")[0], item.setup.clamped.partition(".")[0]}
            nets = {self.board.net_of(item.point)} if item.setup.clamped == GROUND else set()
            self._about[item.id] = np.array(
                [
                    float(
                        (item.live and _in_a_chip(each))
                        or (_in_table(each) and self._is_at(index, places, nets))
                    )
                    for index, each in enumerate(self.listed)
                ]
            )
        return self._about[item.id]

    def _is_at(self, index: int, places: set[str], nets: set[str]) -> bool:
        place = self.listed[index].fault.place.rpartition("/")[2]
        return place.partition(".")[0] in places if not nets else bool(self.nets_of[index] & nets)

    def table(self, setup: BenchSetup) -> FaultTable:
        """Return the fault table of a set-up."""
        if setup not in self._built:
            faults = tuple(self.listed[i].fault for i in self._columns)
            meter_range = self.meter.range_for(setup.mode)
            table, findings = self._tables.get(self.board, setup, meter_range, faults)
            self.findings.extend(item for item in findings if item not in self.findings)
            self._built[setup] = table
        return self._built[setup]

    def reference(self, point: str, mode: MeterMode) -> Reference | None:
        """Return what is known of good boards at a point, or anywhere on its net."""
        found = self.references.get((point, mode))
        return found or self.references.get((self.board.net_of(point), mode))

    def _expectation(self, point: str, setup: BenchSetup) -> Expectation:
        key = point, setup
        if key not in self._alone:
            self._alone[key] = self._candidates_alone(point, setup)
        rows = self._several.rows(point, setup, self._alone[key])
        return self._corrected(point, setup, rows)

    def _candidates_alone(self, point: str, setup: BenchSetup) -> SetRows:
        return self._rows(*self._table_for(point, setup), point)

    def _rows(self, table: FaultTable, columns: list[int], point: str) -> SetRows:
        net = self.board.net_of(point)
        values, over = table.row(point if point in table.points else net)
        healthy = table.healthy(point if point in table.points else net)
        base = 0.0 if isinstance(healthy, OverRange) else healthy
        mean = np.full(len(self.listed) + 1, base)
        is_over = np.full(len(self.listed) + 1, isinstance(healthy, OverRange))
        mean[columns] = np.where(over, base, values)
        is_over[columns] = over
        disturbed = self._disturbing * (net in self.covered)
        step = steps_of(self._families, mean, is_over)
        leaking = np.zeros(len(mean), dtype=np.bool_)
        leaking[self._leaks.get(net, [])] = True
        return SetRows(mean, is_over, disturbed, step, leaking)

    @cached_property
    def _leaks(self) -> dict[str, list[int]]:
        """The candidates that take current from each net to ground."""
        found: dict[str, list[int]] = {}
        for index, nets in self.nets_of.items():
            if is_leak(self.board, self.listed[index].fault):
                for net in nets:
                    found.setdefault(net, []).append(index)
        return found

    def _table_for(self, point: str, setup: BenchSetup) -> tuple[FaultTable, list[int]]:
        """Return a table that has a point in a set-up, and the candidates of its columns.

        In diode mode to ground a table has all points; in other modes, between two pins, or once
        a part is off the board, only the point itself is computed, under the faults near it.
        """
        if setup.mode is MeterMode.DC_VOLTS:
            return self._live_table()
        if _is_usual(setup):
            return self.table(setup), self._columns
        columns = self._near(point, setup)
        return self._few(setup, columns, (point,)), columns

    def _few(
        self, setup: BenchSetup, columns: Sequence[int], points: tuple[str, ...]
    ) -> FaultTable:
        """Return a table of some points, under some of the candidates."""
        faults = tuple(self.listed[i].fault for i in columns)
        meter_range = self.meter.range_for(setup.mode)
        table, findings = self._tables.few(self.board, setup, meter_range, faults, points)
        self.findings.extend(item for item in findings if item not in self.findings)
        return table

    def _live_table(self) -> tuple[FaultTable, list[int]]:
        columns = [i for i, item in enumerate(self.listed) if _in_table(item) or _in_a_chip(item)]
        faults = tuple(self.listed[i].fault for i in columns)
        meter_range = self.meter.range_for(MeterMode.DC_VOLTS)
        return self._tables.live(self.board, meter_range, self.rails, faults), columns

    def _near(self, point: str, setup: BenchSetup) -> list[int]:
        """Return the candidates on the nets of a measurement, and on what conducts to them."""
        board = self.board
        nets = {board.net_of(point), board.net_of(setup.clamped)} - {GROUND}
        if setup.clamped == GROUND:
            nets = self._conducting(nets)
        return [i for i in self._columns if self.nets_of[i] & nets]

    def _conducting(self, nets: set[str]) -> set[str]:
        """Return nets with those that coils and small resistors join, and one part further."""
        found = sorted(nets)
        for net in found:
            beside = [part for part, _ in self.board.parts_on(net) if _joins(part)]
            found += [pin.net for part in beside for pin in part.pins
                      if pin.net not in (*found, GROUND)]  # fmt: skip
        parts = [part for net in found for part, _ in self.board.parts_on(net)]
        return {pin.net for part in parts if len(part.pins) == 2 for pin in part.pins} - {GROUND}

    @cached_property
    def nets_of(self) -> dict[int, frozenset[str]]:
        """The nets where each candidate sits that has a place on the board."""
        return {i: site_of(self.board, self.listed[i].fault).nets for i in self._columns}

    def _corrected(
        self, point: str, setup: BenchSetup, rows: SetRows, alone: FaultTable | None = None
    ) -> Expectation:
        """Move the computed values to where good boards of this type really read.

        `alone` has the point where the whole board is not known; what readings deviate by together
        is left out then.
        """
        mean, over = rows.mean, rows.over
        reference = self._still_good(point, setup, mean, over)
        meter = self.meter.range_for(setup.mode)
        source = "computed from the circuit"
        shift = (mean - mean[-1]) * _share_left(mean)
        if reference is not None:
            least = _UNMOVED if setup.mode is MeterMode.DIODE else meter.resolution
            mean, over = _anchor(mean, over, reference.value, least)
            source = reference.source
        published = self._published(point, setup) if reference is None else None
        if published is not None:
            source = "computed from the chip's published clamps"
        kept = inherited(mean, rows.leaking)
        spread = self._spread(mean, kept, setup.mode, reference, published)
        if setup.mode is MeterMode.DIODE and reference is None and published is None:
            table, name = (alone, point) if alone else self._table_with(point, setup)
            most = _LARGEST_SHARE * abs(float(mean[-1])) / max(float(spread[-1]), 1e-12)
            spread = spread * min(share_of_a_clamp(table, name), most)
        inherit = spread / spread[-1] if spread[-1] > 0.0 else np.ones_like(spread)
        together = np.zeros(0) if alone else self._common(point, setup, reference is not None)
        common = together * spread[-1]
        noise = _noise(meter, mean)
        deviation = np.sqrt(spread**2 + (_SHIFT_ERROR * shift) ** 2 + noise**2)
        slip = self.pack.readings.slip
        between = self._between_boards(mean, kept, setup.mode)
        return Expectation(
            mean,
            deviation,
            rows.step,
            between,
            over,
            rows.disturbed,
            meter,
            slip,
            source,
            inherit,
            common,
        )

    def _common(self, point: str, setup: BenchSetup, referred: bool) -> FloatArray:
        """Return how a reading depends on what it deviates by together with others, shape (B k,).

        First those of a prediction, then, where good boards were read, those of a difference from
        them: the two have next to nothing in common, since parts scatter little about what good
        boards have.
        """
        if setup.mode is not MeterMode.DIODE:
            return np.zeros(0)
        table, name = self._table_with(point, setup)
        direction = self._deviations.direction(table, name)
        blocks = 1 + any(known is MeterMode.DIODE for _, known in self.references)
        loadings = np.zeros((blocks, self._deviations.rank))
        loadings[int(referred)] = direction * (np.sqrt(1.0 - _OWN_REFERRED) if referred else 1.0)
        return loadings.ravel()

    def _table_with(self, point: str, setup: BenchSetup) -> tuple[FaultTable, str]:
        """Return a table that has a point, and the point's name in it."""
        table, _ = self._table_for(point, setup)
        return table, point if point in table.points else self.board.net_of(point)

    @cached_property
    def _deviations(self) -> CommonDeviations:
        return CommonDeviations(self.table(BenchSetup(MeterMode.DIODE)), self.covered)

    def _still_good(
        self, point: str, setup: BenchSetup, mean: FloatArray, over: BoolArray
    ) -> Reference | None:
        """Return the reference of a point, unless it was taken between other leads or parts."""
        if setup.clamped != GROUND:
            return None
        found = self.reference(point, setup.mode)
        if found is None or not setup.removed:
            return found
        whole, _ = self._table_for(point, replace(setup, removed=frozenset()))
        before = whole.healthy(point if point in whole.points else self.board.net_of(point))
        was_over = bool(over[-1])
        if isinstance(before, OverRange) or was_over:
            return found if isinstance(before, OverRange) and was_over else None
        same = abs(before - float(mean[-1])) <= 0.01 * max(before, 1e-12)
        return found if same else None

    def _published(self, point: str, setup: BenchSetup) -> float | None:
        """Return the spread that a chip's clamp tables leave, where they are sharper [V]."""
        plain = setup.mode is MeterMode.DIODE and setup.clamped == GROUND and not setup.removed
        found = published_spread(self.board, point) if plain else None
        return found if found is not None and found < self.pack.readings.model else None

    def _spread(
        self,
        mean: FloatArray,
        kept: FloatArray,
        mode: MeterMode,
        reference: Reference | None,
        published: float | None,
    ) -> FloatArray:
        """Return the spread of good boards about each value, in its unit.

        In diode mode it is a voltage, of which each value keeps a share; in the other modes a
        share of the reading, with a floor.
        """
        if reference is not None and reference.deviation is not None:
            return self._measured(mean, kept, mode, reference.deviation)
        if reference is not None:
            few = float(np.sqrt(1.0 + 1.0 / reference.boards))
            return self._between_boards(mean, kept, mode) * few
        settings = self.pack.readings
        if mode is MeterMode.DIODE:
            return (settings.model if published is None else published) * kept
        data = settings.modes.get(mode.value, _ANY_MODE)
        return np.asarray(np.hypot(data.model * np.abs(mean), data.floor))

    def _measured(
        self, mean: FloatArray, kept: FloatArray, mode: MeterMode, deviation: float
    ) -> FloatArray:
        """Return the spread about each value where that of the healthy one was measured."""
        if mode is MeterMode.DIODE:
            return deviation * kept
        healthy = abs(float(mean[-1]))
        if healthy == 0.0:
            return np.full_like(mean, deviation)
        floor = min(deviation, self.pack.readings.modes.get(mode.value, _ANY_MODE).floor)
        return np.maximum(deviation / healthy * np.abs(mean), floor)

    def _between_boards(self, mean: FloatArray, kept: FloatArray, mode: MeterMode) -> FloatArray:
        """Return by how much good boards of the type differ, as a standard deviation."""
        settings = self.pack.readings
        if mode is MeterMode.DIODE:
            return settings.between_boards * kept
        data = settings.modes.get(mode.value, _ANY_MODE)
        return np.asarray(np.hypot(data.between_boards * np.abs(mean), data.floor))


def _is_usual(setup: BenchSetup) -> bool:
    """Tell whether all points of a board are solved together in a set-up: diode mode to ground."""
    return setup.mode is MeterMode.DIODE and setup.clamped == GROUND and not setup.removed


def _joins(part: Part) -> bool:
    """Tell whether a part joins its two nets as far as a meter in ohms is concerned."""
    if len(part.pins) != 2:
        return False
    small = part.kind is PartKind.RESISTOR and (part.value or 1e9) <= _JOINING_OHMS
    return small or part.kind in (PartKind.FERRITE, PartKind.INDUCTOR)


def _share_left(mean: FloatArray) -> FloatArray:
    """Return what is left of the healthy reading under each row, 1 at most, shape (H + 1,)."""
    healthy = max(abs(float(mean[-1])), 1e-12)
    return np.asarray(np.minimum(np.abs(mean) / healthy, 1.0))


def _noise(meter: MeterRange, values: FloatArray) -> FloatArray:
    """Return the standard uncertainty of each shown value; that of equal values once."""
    known, index = np.unique(values, return_inverse=True)
    return np.array([meter.standard_uncertainty(float(value)) for value in known])[index]


def _in_table(item: Candidate) -> bool:
    return item.fault.kind.is_electrical and item.located


def _in_a_chip(item: Candidate) -> bool:
    """Tell whether a fault shows on live rails only: a chip that gives nothing."""
    return item.located and item.fault.kind in (FaultKind.NO_OUTPUT, FaultKind.CHIP_DEAD)


def _anchor(
    mean: FloatArray, over: BoolArray, good: float | OverRange, least: float
) -> tuple[FloatArray, BoolArray]:
    """Put the healthy reading at `good`; faults keep their effect in proportion."""
    if isinstance(good, OverRange):
        unmoved = (over == over[-1]) & (np.abs(mean - mean[-1]) < least)
        return mean, over | unmoved
    computed, was_over = mean[-1], bool(over[-1])
    moved = np.where(over == was_over, False, over)
    if was_over:
        return np.where(over, good, mean), moved
    if computed > least:
        return np.where(mean <= computed, mean * (good / computed), mean + good - computed), moved
    return mean + (good - computed), moved
