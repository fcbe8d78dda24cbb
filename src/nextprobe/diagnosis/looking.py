"""What may be seen by eye, in a log or by a self-test, in each possible world."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.diagnosis.acts import NOTHING, ORIGINAL
from nextprobe.diagnosis.functioning import instance_bad, unrecognised
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import ACTIVE, HYPOTHESIS, Situation
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Access, Look, Pack

FloatArray = NDArray[np.float64]
STALE = FaultKind.RECOGNITION_STALE.value
BROKEN = FaultKind.MODULE_BAD.value


def look_chances(
    model: Model, situation: Situation, name: str
) -> tuple[tuple[str, ...], tuple[FloatArray, ...]]:
    """Return what a look may show and the chance of each in each world.

    A second look at the same thing in the same state can only repeat the first.
    """
    data = model.pack.looks[name]
    results = (*data.outcomes, NOTHING)
    worlds = len(situation.ensemble)
    if look_key(model, situation, name) in situation.looks:
        return results, tuple(np.ones(worlds) for _ in results)
    seen = [_chance(model, situation, name, outcome) for outcome in data.outcomes]
    rest = 1.0 - sum(seen, np.zeros(worlds))
    return results, (*seen, np.clip(rest, 0.0, 1.0))


def _chance(model: Model, situation: Situation, name: str, outcome: str) -> FloatArray:
    by_row = model.look_rows[name][outcome]
    hypothesis = situation.ensemble.columns[HYPOTHESIS]
    active = situation.ensemble.columns[ACTIVE] == 1
    for slot, of_original in model.module_faults.items():
        if situation.configuration.fitted.get(slot, ORIGINAL) != ORIGINAL:
            active = active & ~of_original[hypothesis]
    seen = by_row[np.where(active, hypothesis, len(model.listed))]
    chances = model.pack.looks[name].outcomes[outcome]
    otherwise = chances.get("otherwise", 0.0)
    stale = chances.get(STALE, otherwise)
    broken = chances.get(BROKEN, chances.get(Cause.MODULE.value, otherwise))
    for slot in heard_modules(model.pack, model.pack.looks[name]):
        unknown = unrecognised(model, situation.configuration, slot)
        bad = instance_bad(model, situation.ensemble, situation.configuration, slot)
        seen = (1.0 - bad) * seen + bad * broken
        seen = (1.0 - unknown) * seen + unknown * stale
    return seen


def heard_modules(pack: Pack, look: Look) -> tuple[str, ...]:
    """Return the modules that a look hears from; none where it can not tell of recognition."""
    if not any(STALE in chances for chances in look.outcomes.values()):
        return ()
    return pack.functions[look.function].needs.modules if look.function else tuple(pack.modules)


def looked(model: Model, situation: Situation, name: str, result: str) -> Situation:
    """Note what was seen, so that a second look is not taken for fresh evidence."""
    key = look_key(model, situation, name)
    return replace(situation, looks={**situation.looks, key: result})


def look_key(model: Model, situation: Situation, name: str) -> str:
    """Name a look together with the state that it depends on.

    What the eye sees at a connector changes when that is cleaned; what a log says, when
    something is fitted or refreshed.
    """
    configuration = situation.configuration
    look = model.pack.looks[name]
    if look.access is not Access.CLOSED:
        return f"{name} {look.connector in configuration.cleaned}"
    return f"{name} {sorted(configuration.fitted.items())} {sorted(configuration.refreshed)}"
