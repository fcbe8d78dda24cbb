"""Readings as evidence: repeated touches are gathered, then weighed at one go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import BenchSetup, MeterRange, OverRange, Reading
from nextprobe.diagnosis.acts import FAILED, PATIENT, Fit, Move, Probe, Refresh, Work
from nextprobe.diagnosis.expectation import Expectation, Expectations
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.ids import reading_id
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import CURED_AT, HYPOTHESIS, Situation

FloatArray = NDArray[np.float64]

# Two touches agree when they differ by no more than this many standard uncertainties.
_AGREEMENT = 5.0


@dataclass(frozen=True)
class Gathered:
    """All touches of one point in one set-up between two things that may have cured it.

    Parameters
    ----------
    point : str
    value : float or OverRange
        What most of them agree on; where as many agree on another value, the later one.
    setup : BenchSetup
    touches : int
        How many separate touches agree.
    change : int
        How many such things had been done before.
    before : Gathered or None
        The same point before the last of them.
    """

    point: str
    value: float | OverRange
    setup: BenchSetup
    touches: int
    change: int = 0
    before: Gathered | None = None


def gather(moves: Sequence[Move], expectations: Expectations) -> dict[int, Gathered]:
    """Return what the patient's readings amount to, by the place of the first of each group."""
    groups: dict[tuple[str, BenchSetup, int], list[tuple[int, Reading]]] = {}
    changes = 0
    for place, move in enumerate(moves):
        changes += isinstance(move.act, Work | Fit | Refresh) and move.result != FAILED
        if isinstance(move.act, Probe) and move.act.device == PATIENT and move.reading:
            key = (move.reading.point, move.reading.setup, changes)
            groups.setdefault(key, []).append((place, move.reading))
    gathered: dict[int, Gathered] = {}
    last: dict[tuple[str, BenchSetup], Gathered] = {}
    for (point, setup, change), found in groups.items():
        once = _combined([reading for _, reading in found], expectations)
        whole = replace(once, change=change, before=last.get((point, setup)))
        gathered[found[0][0]] = last[point, setup] = whole
    return gathered


def _combined(readings: Sequence[Reading], expectations: Expectations) -> Gathered:
    touches = {reading.touch or str(place): reading for place, reading in enumerate(readings)}
    camps = [_agreeing(reading, touches.values(), expectations) for reading in touches.values()]
    largest = max(reversed(camps), key=len)
    last = largest[-1]
    value = last.value
    if not isinstance(value, OverRange):
        value = float(np.mean([r.value for r in largest if not isinstance(r.value, OverRange)]))
    return Gathered(last.point, value, last.setup, len(largest))


def _agreeing(
    one: Reading, readings: Iterable[Reading], expectations: Expectations
) -> list[Reading]:
    return [r for r in readings if agree(r.value, one.value, one.setup, expectations)]


def agree(
    one: float | OverRange,
    other: float | OverRange,
    setup: BenchSetup,
    expectations: Expectations,
) -> bool:
    """Tell whether two readings differ by no more than the meter does."""
    if isinstance(one, OverRange) or isinstance(other, OverRange):
        return one is other
    meter = expectations.meter.range_for(setup.mode)
    return abs(one - other) <= _AGREEMENT * meter.standard_uncertainty(other)


def accept_reading(model: Model, situation: Situation, seen: Gathered) -> Situation:
    """Return the situation after a reading; without a board it is only noted as done."""
    setup = seen.setup
    noted = situation.with_tried(reading_id(seen.point, setup.mode, setup.clamped))
    expectations = model.expectations
    if expectations is None or not expectations.predicts(seen.point, setup):
        return noted
    expectation = expectations.at(seen.point, seen.setup)
    ensemble = situation.ensemble
    rows = active_sets(model, ensemble)
    by_world = expectation.log_likelihood(seen.value, seen.touches)[rows]
    if seen.before is not None:
        repeated = _again(expectation, seen, seen.before, expectations)[rows]
        cured_since = ensemble.columns[CURED_AT] > seen.before.change
        visible = expectation.differs(ensemble.columns[HYPOTHESIS], rows)
        by_world = np.where(cured_since & visible, by_world, repeated)
    weighed = ensemble.condition(by_world, log_best=float(by_world.max()))
    return replace(noted, ensemble=weighed)


def _again(
    expectation: Expectation, seen: Gathered, before: Gathered, expectations: Expectations
) -> FloatArray:
    """Return the log likelihood of a reading where nothing has changed since the last one.

    The deviations of this board and the magnitude of its fault are still the same, so the value
    comes again to within what the meter repeats; of two that differ by more, one was a slip.
    """
    if agree(seen.value, before.value, seen.setup, expectations):
        together = expectation.log_likelihood(seen.value, seen.touches + before.touches)
        apart = together - expectation.log_likelihood(before.value, before.touches)
        return apart + _log_repeated(seen.value, before.value, expectation.meter)
    either = expectation.log_either(before.value, seen.value)
    return either - expectation.log_likelihood(before.value, before.touches)


def _log_repeated(one: float | OverRange, other: float | OverRange, meter: MeterRange) -> float:
    """Return the log density of a number about an earlier one, or that over-range is certain."""
    if isinstance(one, OverRange) or isinstance(other, OverRange):
        return 0.0
    deviation = np.sqrt(2.0) * meter.standard_uncertainty(other)
    score = (one - other) / deviation
    return float(-0.5 * score**2 - np.log(deviation * np.sqrt(2.0 * np.pi)))


def donor_readings(moves: Iterable[Move]) -> list[Reading]:
    """Return the readings that were taken on known-good boards in the job."""
    return [
        move.reading
        for move in moves
        if isinstance(move.act, Probe) and move.act.device != PATIENT and move.reading
    ]
