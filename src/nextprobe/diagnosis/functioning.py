"""Whether a function works in each possible world."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.diagnosis.acts import ORIGINAL
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import (
    ACTIVE,
    BAD,
    HYPOTHESIS,
    WAYS,
    digits,
    jointly,
    quality,
    shows,
)
from nextprobe.planning import Configuration

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

# A module that the firmware does not know yet stays dead, but for a few that start all the same.
_UNRECOGNISED = 0.98


def with_manifestation(model: Model, ensemble: Ensemble, function: str) -> Ensemble:
    """Bring in, once per device, whether each fault shows itself in `function`.

    Nothing but checks of the same function depends on it, so that its chances within each world
    are enough.
    """
    name = shows(function)
    if name in ensemble.columns or name in ensemble.within:
        return ensemble
    stops = member_values(model, ensemble, model.stops(function))
    intermittent = model.pack.functions[function].intermittent
    drawn = np.stack([1.0 - stops, stops * (1.0 - intermittent), stops * intermittent], axis=2)
    return ensemble.learned(name, jointly(drawn))


def member_values(model: Model, ensemble: Ensemble, values: FloatArray) -> FloatArray:
    """Return a value of candidates, (..., H), for each member in each world, (..., R, M)."""
    return np.asarray(model.sets.of_members(values, ensemble.columns[HYPOTHESIS]), dtype=np.float64)


def members_active(model: Model, ensemble: Ensemble) -> BoolArray:
    """Return which members have not been repaired in each world, shape (R, M)."""
    return model.sets.bits(ensemble.columns[ACTIVE])


def has_active(model: Model, ensemble: Ensemble, which: BoolArray) -> BoolArray:
    """Return where one of some candidates, shape (H,), has not been repaired, shape (R,)."""
    those = model.sets.of_members(which, ensemble.columns[HYPOTHESIS]).astype(np.bool_)
    return np.asarray((those & members_active(model, ensemble)).any(axis=1))


def active_sets(model: Model, ensemble: Ensemble) -> IntArray:
    """Return the set of faults that is left in each world, S where there is none, shape (R,).

    It is the row of everything predicted by set: readings, looks.
    """
    columns = ensemble.columns
    return model.sets.present[columns[HYPOTHESIS], columns[ACTIVE]]


def candidate_chances(model: Model, ensemble: Ensemble) -> FloatArray:
    """Return the chance that each candidate is there and not repaired, shape (H,)."""
    sets, active = ensemble.columns[HYPOTHESIS], members_active(model, ensemble)
    return model.sets.by_candidate(ensemble.probabilities, sets, active)


def failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    """Return the chance that `function` fails at one look, by way that the faults show.

    Shape (R, K), for the K ways of which the ensemble has the chances within each world; one
    column where the world itself says it. Causes combine as a noisy OR (Pearl 1988, Probabilistic
    Reasoning in Intelligent Systems, sec. 4.3.2): the fault itself, a bad instance, and an
    instance that is not recognised.
    """
    wrong = _faults_failing(model, ensemble, configuration, function)
    return _with_instances(model, ensemble, configuration, function, wrong)


def failing_once(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    """Return the chance that `function` fails at one look in each world, shape (R,)."""
    wrong = fault_failing(model, ensemble, configuration, function)[:, None]
    return _with_instances(model, ensemble, configuration, function, wrong)[:, 0]


def _with_instances(
    model: Model,
    ensemble: Ensemble,
    configuration: Configuration,
    function: str,
    wrong: FloatArray,
) -> FloatArray:
    """Return chances of failing by faults alone, shape (R, K), with those of the instances."""
    for slot in model.pack.functions[function].needs.modules:
        fine = 1.0 - instance_failing(model, ensemble, configuration, slot)
        wrong = 1.0 - (1.0 - wrong) * fine[:, None]
    return wrong


def _faults_failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    if shows(function) not in ensemble.within:
        return fault_failing(model, ensemble, configuration, function)[:, None]
    members = model.sets.largest
    present = members_present(model, ensemble, configuration)
    duties = _duty_of_ways(model, function)[digits(np.arange(WAYS**members), members)]
    return np.asarray(1.0 - np.where(present[:, None, :], 1.0 - duties, 1.0).prod(axis=2))


def _duty_of_ways(model: Model, function: str) -> FloatArray:
    """Return how often a fault shows that never, always or at times does, shape (3,)."""
    return np.array([0.0, 1.0, model.pack.functions[function].duty])


def fault_failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    """Return the chance that the faults alone make a check fail, in each world, shape (R,)."""
    present = members_present(model, ensemble, configuration)
    held = np.where(present, 1.0 - _duties(model, ensemble, function), 1.0)
    return np.asarray(1.0 - held.prod(axis=1))


def members_present(model: Model, ensemble: Ensemble, configuration: Configuration) -> BoolArray:
    """Return which members are in the device, not repaired nor in a module that is out of it.

    Shape (R, M).
    """
    present = members_active(model, ensemble)
    for slot, of_original in model.module_faults.items():
        if configuration.fitted.get(slot, ORIGINAL) != ORIGINAL:
            inside = model.sets.of_members(of_original, ensemble.columns[HYPOTHESIS])
            present = present & ~inside.astype(np.bool_)
    return present


def sets_present(model: Model, ensemble: Ensemble, configuration: Configuration) -> IntArray:
    """Return the set of faults that is in the device, S where there is none, shape (R,)."""
    masks = model.sets.mask(members_present(model, ensemble, configuration))
    return model.sets.present[ensemble.columns[HYPOTHESIS], masks]


def _duties(model: Model, ensemble: Ensemble, function: str) -> FloatArray:
    """Return how often each member shows while it is present, shape (R, M)."""
    column = shows(function)
    if column in ensemble.columns:
        ways = digits(ensemble.columns[column], model.sets.largest)
        return _duty_of_ways(model, function)[ways]
    duty = model.pack.functions[function].duty
    intermittent = model.pack.functions[function].intermittent
    stops = member_values(model, ensemble, model.stops(function))
    return np.asarray(stops * (1.0 - intermittent + intermittent * duty))


def instance_failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, slot: str
) -> FloatArray:
    """Return the chance that the fitted instance itself is to blame, in each world."""
    bad = instance_bad(model, ensemble, configuration, slot)
    return np.asarray(1.0 - (1.0 - bad) * (1.0 - unrecognised(model, configuration, slot)))


def instance_bad(
    model: Model, ensemble: Ensemble, configuration: Configuration, slot: str
) -> FloatArray:
    """Return the chance that what was fitted in place of the original is bad, in each world."""
    instance = configuration.fitted.get(slot, ORIGINAL)
    if instance == ORIGINAL:
        return np.zeros(len(ensemble))
    column = quality(slot, instance)
    if column in ensemble.columns:
        return np.asarray(ensemble.columns[column] == BAD, dtype=np.float64)
    return np.full(len(ensemble), float(model.pack.modules[slot].donor_bad), dtype=np.float64)


def unrecognised(model: Model, configuration: Configuration, slot: str) -> float:
    """Return the chance that what is fitted in `slot` stays dead for want of a refresh."""
    instance = configuration.fitted.get(slot, ORIGINAL)
    if model.pack.modules[slot].recognised == "at once":
        return 0.0
    return 0.0 if (slot, instance) in configuration.recognised else _UNRECOGNISED
