"""Whether a function works in each possible world."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.diagnosis.acts import ORIGINAL
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import (
    ACTIVE,
    ALWAYS,
    BAD,
    HYPOTHESIS,
    NEVER,
    SOMETIMES,
    quality,
    shows,
)
from nextprobe.planning import Configuration

FloatArray = NDArray[np.float64]

# A module that the firmware does not know yet stays dead, but for a few that start all the same.
_UNRECOGNISED = 0.98


def with_manifestation(model: Model, ensemble: Ensemble, function: str) -> Ensemble:
    """Draw, once per device, whether each fault shows itself in `function`."""
    column = shows(function)
    if column in ensemble.columns:
        return ensemble
    stops = model.stops(function)[ensemble.columns[HYPOTHESIS]]
    intermittent = model.pack.functions[function].intermittent
    drawn = np.stack([1.0 - stops, stops * (1.0 - intermittent), stops * intermittent], axis=1)
    return ensemble.split(column, [NEVER, ALWAYS, SOMETIMES], drawn)


def failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    """Return the chance that `function` fails at one look, in each world, shape (R,).

    Causes combine as a noisy OR (Pearl 1988, Probabilistic Reasoning in Intelligent Systems,
    sec. 4.3.2): the fault itself, a bad instance, and an instance that is not recognised.
    """
    wrong = fault_failing(model, ensemble, configuration, function)
    for slot in model.pack.functions[function].needs.modules:
        fine = 1.0 - instance_failing(model, ensemble, configuration, slot)
        wrong = 1.0 - (1.0 - wrong) * fine
    return wrong


def fault_failing(
    model: Model, ensemble: Ensemble, configuration: Configuration, function: str
) -> FloatArray:
    """Return the chance that the fault alone makes a check fail, in each world, shape (R,)."""
    present = fault_present(model, ensemble, configuration)
    return np.where(present, _duty(model, ensemble, function), 0.0)


def fault_present(
    model: Model, ensemble: Ensemble, configuration: Configuration
) -> NDArray[np.bool_]:
    """Return where the fault is still in the device, and not in a module that is out of it."""
    hypothesis = ensemble.columns[HYPOTHESIS]
    present = ensemble.columns[ACTIVE] == 1
    for slot, of_original in model.module_faults.items():
        if configuration.fitted.get(slot, ORIGINAL) != ORIGINAL:
            present = present & ~of_original[hypothesis]
    return np.asarray(present)


def _duty(model: Model, ensemble: Ensemble, function: str) -> FloatArray:
    """Return how often a fault that is present shows, in each world."""
    duty = model.pack.functions[function].duty
    column = shows(function)
    if column in ensemble.columns:
        return np.array([0.0, 1.0, duty])[ensemble.columns[column]]
    intermittent = model.pack.functions[function].intermittent
    stops = model.stops(function)[ensemble.columns[HYPOTHESIS]]
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
