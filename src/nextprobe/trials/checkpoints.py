"""Forecasts of what is wrong, at fixed points of a job, and where readings fell.

Checkpoints: at intake; after 1, 3 and 10 observations chosen by chance among those offered; and
where the advised job stopped. Observations chosen by chance say more of the belief itself than
those that a planner asks for.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import OverRange
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.diagnosis.predicted import Expectation
from nextprobe.diagnosis.sharpening import sharpened
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.trials.bench_board import SLIPS_OVER_RANGE
from nextprobe.trials.coverage import Interval
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.pit import randomised
from nextprobe.trials.play import conduct
from nextprobe.trials.reliability import Tally, tally

INTAKE, STOP = "intake", "stop"
AFTER = (1, 3, 10)
CHECKPOINTS = (INTAKE, *(f"after {count}" for count in AFTER), STOP)
_OBSERVES = frozenset({"look", "check", "reading", "run", "current"})
_READINGS = 4
_FINE = 400


@dataclass(frozen=True)
class Forecasts:
    """What was believed of a device, against what is true.

    Parameters
    ----------
    marginals : mapping of str to Tally
        By checkpoint: the chance of every family of faults to be there.
    leading : mapping of str to Tally
        By checkpoint: the chance of the leading suspect alone.
    """

    marginals: dict[str, Tally]
    leading: dict[str, Tally]


def forecasts(
    start: Case,
    device: SimulatedDevice,
    truth: Collection[str],
    rng: np.random.Generator,
    stop: Case | None = None,
) -> Forecasts:
    """Return the forecasts of a device at all checkpoints.

    Parameters
    ----------
    start : Case
        At intake.
    device : SimulatedDevice
        Fresh.
    truth : collection of str
        Families of faults that are there.
    rng : numpy.random.Generator
        Chooses the observations.
    stop : Case or None
        Where the advised job stopped, if it was played.
    """
    cases = {INTAKE: start, **dict(_observed(start, device, rng))}
    if stop is not None:
        cases[STOP] = stop
    before = _marginals(start)
    names = start.model.families[0]
    happened = np.array([name in truth for name in names])
    marginals, leading = {}, {}
    for checkpoint, case in cases.items():
        chances = _marginals(case)
        first = int(chances.argmax())
        marginals[checkpoint] = tally(chances, happened, before)
        leading[checkpoint] = tally(chances[[first]], happened[[first]], before[[first]])
    return Forecasts(marginals, leading)


def _marginals(case: Case) -> NDArray[np.float64]:
    return np.clip(family_chances(case.model, case.situation), 0.0, 1.0)


def _observed(
    case: Case, device: SimulatedDevice, rng: np.random.Generator
) -> Iterator[tuple[str, Case]]:
    """Yield the cases after some observations; fewer where nothing is left to observe."""
    for count in range(1, AFTER[-1] + 1):
        offered = case.problem.options(case.situation)
        names = sorted(option.id for option in offered if option.kind in _OBSERVES)
        if not names:
            return
        chosen = names[int(rng.integers(len(names)))]
        case = case.after(*conduct(case, device, chosen))
        if count in AFTER:
            yield f"after {count}", case


@dataclass(frozen=True)
class Placed:
    """Where a reading lay in its prediction.

    Parameters
    ----------
    place : float
        From 0 to 1, within an atom by chance.
    interval : Interval or None
        What was predicted of the number; None where it was over-range.
    """

    place: float
    interval: Interval | None


def placed_readings(
    start: Case, device: SimulatedDevice, rng: np.random.Generator
) -> tuple[Placed, ...]:
    """Return where the readings of some points, chosen by chance, lie in their predictions.

    Each is predicted from what is known at intake and nothing else.
    """
    if start.model.expectations is None:
        return ()
    names = sorted(start.problem.probing.touches)
    count = min(_READINGS, len(names))
    chosen = rng.choice(len(names), size=count, replace=False) if count else ()
    found = []
    for index in chosen:
        item = start.problem.probing.touches[names[index]]
        reading = device.answer(item.act()).reading
        if reading is not None and start.model.expectations.predicts(item.point, item.setup):
            place = randomised(*bounds(start, item, reading.value), float(rng.random()))
            found.append(Placed(place, interval(start, item, reading.value)))
    return tuple(found)


def bounds(case: Case, item: Measurement, value: float | OverRange) -> tuple[float, float]:
    """Return the chance of a reading below what was read, and of one not above it."""
    assert case.model.expectations is not None
    meter = case.model.expectations.at(item.point, item.setup).meter
    if isinstance(value, OverRange):
        return _up_to(case, item, meter.full_scale), 1.0
    half = meter.resolution / 2.0
    return _up_to(case, item, value - half), _up_to(case, item, value + half)


def interval(case: Case, item: Measurement, value: float | OverRange) -> Interval | None:
    """Return whether the central 95 % of what is predicted of a number holds it."""
    if isinstance(value, OverRange) or case.model.expectations is None:
        return None
    expectation, chances = _foreseen(case, item)
    full, step = expectation.meter.full_scale, expectation.meter.resolution
    fine = np.concatenate([np.linspace(0.0, full, _FINE), np.geomspace(step, full, _FINE)])
    edges = np.unique(fine)
    held = chances @ ((1.0 - expectation.slip) * expectation.bins(edges.tolist())[:, :-1])
    slips = expectation.slip * (1.0 - SLIPS_OVER_RANGE)
    up_to = np.concatenate([[0.0], np.cumsum(held + slips * np.diff(edges) / full)])
    low, high = np.interp((0.025, 0.975), up_to / up_to[-1], edges)
    inside = low - step / 2.0 <= value <= high + step / 2.0
    return Interval(item.setup.mode.value, bool(inside), float(high - low) / 2.0)


def _up_to(case: Case, item: Measurement, value: float) -> float:
    """Return the chance of a number up to some value, slips of the probe included."""
    expectation, belief = _foreseen(case, item)
    full = expectation.meter.full_scale
    if value <= 0.0:
        return 0.0
    if value < full:
        held = expectation.bins((0.0, value, full))[:, 0]
    else:
        held = 1.0 - expectation.bins((0.0, full))[:, -1]
    slip = (1.0 - SLIPS_OVER_RANGE) * min(value / full, 1.0)
    chances = (1.0 - expectation.slip) * held + expectation.slip * slip
    return float(chances @ belief)


def _foreseen(case: Case, item: Measurement) -> tuple[Expectation, NDArray[np.float64]]:
    """Return what is predicted after the readings so far, and the chance of each row of that."""
    assert case.model.expectations is not None
    usual, situation = case.model.expectations.at(item.point, item.setup), case.situation
    found = sharpened(usual, situation, active_sets(case.model, situation.ensemble))
    if found is None:
        return usual, _belief(case)
    return found.expectation, found.chances(situation.ensemble)


def _belief(case: Case) -> NDArray[np.float64]:
    """Return the chance of each set of faults that is left, none last."""
    ensemble = case.situation.ensemble
    rows = active_sets(case.model, ensemble)
    return np.bincount(rows, ensemble.probabilities, len(case.model.sets) + 1).astype(np.float64)
