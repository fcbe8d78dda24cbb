"""Readings as evidence: repeated touches are gathered, then weighed at one go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nextprobe.board import BenchSetup, OverRange, Reading
from nextprobe.diagnosis.acts import PATIENT, Move, Probe, Work
from nextprobe.diagnosis.expectation import Expectations
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import ACTIVE, HYPOTHESIS, Situation

# Two touches agree when they differ by no more than this many standard uncertainties.
_AGREEMENT = 5.0


@dataclass(frozen=True)
class Gathered:
    """All touches of one point in one set-up between two pieces of work.

    Parameters
    ----------
    point : str
    value : float or OverRange
        What they agree on, or the last one.
    setup : BenchSetup
    touches : int
        How many separate touches agree.
    """

    point: str
    value: float | OverRange
    setup: BenchSetup
    touches: int


def gather(moves: Sequence[Move], expectations: Expectations) -> dict[int, Gathered]:
    """Return what the patient's readings amount to, by the place of the first of each group."""
    groups: dict[tuple[str, BenchSetup, int], list[tuple[int, Reading]]] = {}
    work_done = 0
    for place, move in enumerate(moves):
        work_done += isinstance(move.act, Work)
        if isinstance(move.act, Probe) and move.act.device == PATIENT and move.reading:
            key = (move.reading.point, move.reading.setup, work_done)
            groups.setdefault(key, []).append((place, move.reading))
    return {
        found[0][0]: _combined([reading for _, reading in found], expectations)
        for found in groups.values()
    }


def _combined(readings: Sequence[Reading], expectations: Expectations) -> Gathered:
    last = readings[-1]
    touches = {reading.touch or str(place): reading for place, reading in enumerate(readings)}
    agreeing = [r for r in touches.values() if _agree(r, last, expectations)]
    value = last.value
    if not isinstance(value, OverRange):
        value = float(np.mean([r.value for r in agreeing if isinstance(r.value, float | int)]))
    return Gathered(last.point, value, last.setup, max(1, len(agreeing)))


def _agree(one: Reading, other: Reading, expectations: Expectations) -> bool:
    if isinstance(one.value, OverRange) or isinstance(other.value, OverRange):
        return one.value is other.value
    meter = expectations.meter.range_for(other.setup.mode)
    return abs(one.value - other.value) <= _AGREEMENT * meter.standard_uncertainty(other.value)


def accept_reading(model: Model, situation: Situation, seen: Gathered) -> Situation:
    """Return the situation after a reading; without a board it is only noted as done."""
    noted = situation.with_tried(f"probe:{seen.point}")
    if model.expectations is None or not model.expectations.board.has_point(seen.point):
        return noted
    expectation = model.expectations.at(seen.point, seen.setup)
    by_row = expectation.log_likelihood(seen.value, seen.touches)
    ensemble = situation.ensemble
    active = ensemble.columns[ACTIVE] == 1
    rows = np.where(active, ensemble.columns[HYPOTHESIS], len(model.listed))
    weighed = ensemble.condition(by_row[rows], log_best=float(by_row.max()))
    return replace(noted, ensemble=weighed)


def donor_readings(moves: Iterable[Move]) -> list[Reading]:
    """Return the readings that were taken on known-good boards in the job."""
    return [
        move.reading
        for move in moves
        if isinstance(move.act, Probe) and move.act.device != PATIENT and move.reading
    ]
