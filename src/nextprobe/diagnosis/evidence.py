"""Readings as evidence: repeated touches are gathered, then weighed at one go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import BenchSetup, MeterRange, OverRange, Reading
from nextprobe.diagnosis.acts import FAILED, PATIENT, Fit, Move, Probe, Refresh, Work
from nextprobe.diagnosis.expectation import Expectations
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.ids import reading_id
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.predicted import Expectation
from nextprobe.diagnosis.sharpening import Sharpened, learned, sharpened
from nextprobe.diagnosis.situation import CURED_AT, HYPOTHESIS, Situation

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

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
    if not foreseen(model, seen):
        return noted
    sharp, by_world, told, ceiling = _weighed(model, situation, seen)
    ensemble = situation.ensemble.condition(by_world, log_best=ceiling)
    weighed = replace(noted, ensemble=ensemble)
    return weighed if sharp is None else learned(sharp, weighed, seen.value, seen.touches, told)


def foreseen(model: Model, seen: Gathered) -> bool:
    """Tell whether anything is predicted of a reading."""
    return model.expectations is not None and model.expectations.predicts(seen.point, seen.setup)


def told_by(model: Model, situation: Situation, seen: Gathered) -> FloatArray:
    """Return the log likelihood of a reading that is foreseen by world, shape (R,)."""
    return _weighed(model, situation, seen)[1]


def _weighed(
    model: Model, situation: Situation, seen: Gathered
) -> tuple[Sharpened | None, FloatArray, BoolArray, float]:
    """Return what was predicted, the log likelihood by world, where it is news, and its ceiling."""
    expectations, ensemble = model.expectations, situation.ensemble
    assert expectations is not None
    expectation = expectations.at(seen.point, seen.setup)
    rows = active_sets(model, ensemble)
    sharp = sharpened(expectation, situation, rows)
    now = expectation if sharp is None else sharp.expectation

    def by_row(log_terms: FloatArray) -> FloatArray:
        return log_terms[rows] if sharp is None else sharp.by_world(log_terms)

    by_world = by_row(now.log_likelihood(seen.value, seen.touches))
    told = np.ones(len(rows), dtype=np.bool_)
    if seen.before is not None:
        repeated = by_row(_again(now, seen, seen.before, expectations))
        was = ensemble.columns[HYPOTHESIS]
        told = (ensemble.columns[CURED_AT] > seen.before.change) & expectation.differs(was, rows)
        spared = _log_spared(expectation, seen.before, was, rows)
        by_world = np.where(told, _log_mixed(spared, repeated, by_world), repeated)
    ceiling = max(expectation.log_ceiling(seen.value), float(by_world.max()))
    return sharp, by_world, told, ceiling


def _again(
    expectation: Expectation, seen: Gathered, before: Gathered, expectations: Expectations
) -> FloatArray:
    """Return the log likelihood of a reading where nothing has changed since the last one.

    The deviations of this board and the magnitude of its fault are still the same, so the value
    comes again to within what the meter repeats; of two that differ by more, one was a slip.
    """
    log_before = expectation.log_likelihood(before.value, before.touches)
    if agree(seen.value, before.value, seen.setup, expectations):
        together = expectation.log_likelihood(seen.value, seen.touches + before.touches)
        repeated = _log_repeated(seen.value, before.value, expectation.meter)
        return _given(together, log_before) + repeated
    return _given(expectation.log_either(before.value, seen.value), log_before)


def _given(log_joint: FloatArray, log_before: FloatArray) -> FloatArray:
    """Return a log density given what was read before; where that was impossible, none."""
    with np.errstate(invalid="ignore"):
        return np.where(np.isneginf(log_before), -np.inf, log_joint - log_before)


def _log_spared(
    expectation: Expectation, before: Gathered, was: IntArray, now: IntArray
) -> FloatArray:
    """Return the log chance that what has been cured had not touched the reading before.

    By Bayes' theorem it is P(not disturbed) · L(before | not disturbed) / L(before). What the
    circuit says of a fault touches for certain whatever it moves.

    Parameters
    ----------
    was, now : ndarray of int, shape (R,)
        Rows of what each world had wrong at first, and has now.
    """
    undisturbed = 1.0 - expectation.disturbed.sum(axis=0)
    log_before = expectation.log_likelihood(before.value, before.touches)
    chance = np.log(undisturbed[was] / undisturbed[now]) + _given(log_before[now], log_before[was])
    moved = np.abs(expectation.mean[was] - expectation.mean[now]) > expectation.spread
    over, was_over = expectation.over[now], expectation.over[was]
    touched = (over != was_over) | (moved & ~over)
    return np.asarray(np.where(touched, -np.inf, np.minimum(chance, 0.0)))


def _log_mixed(log_share: FloatArray, one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the log of a mixture of two densities, of which the first has the share given."""
    with np.errstate(divide="ignore"):
        rest = np.log(-np.expm1(log_share))
    return np.asarray(np.logaddexp(log_share + one, rest + other))


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
