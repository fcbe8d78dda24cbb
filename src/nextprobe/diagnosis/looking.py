"""What may be seen by eye, in a log or by a self-test, in each possible world."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.diagnosis.acts import NOTHING
from nextprobe.diagnosis.functioning import (
    instance_bad,
    members_present,
    sets_present,
    unrecognised,
)
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import HEARD, Situation
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Access, Look, Pack

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
# A look that is made again with its cause unchanged shows the same, but for this.
_REPEATS = 0.97
STALE = FaultKind.RECOGNITION_STALE.value
BROKEN = FaultKind.MODULE_BAD.value


def look_chances(
    model: Model, situation: Situation, name: str
) -> tuple[tuple[str, ...], tuple[FloatArray, ...]]:
    """Return what a look may show and the chance of each in each world.

    A second look at the same thing in the same state can only repeat the first. Where something
    else has changed since, but not what the look hears from, it mostly repeats it too.
    """
    data = model.pack.looks[name]
    results = (*data.outcomes, NOTHING)
    worlds = len(situation.ensemble)
    if look_key(model, situation, name) in situation.looks:
        return results, tuple(np.ones(worlds) for _ in results)
    seen = [_chance(model, situation, name, outcome) for outcome in data.outcomes]
    rest = 1.0 - sum(seen, np.zeros(worlds))
    fresh = (*seen, np.clip(rest, 0.0, 1.0))
    return results, _repeated(model, situation, name, results, fresh)


def _repeated(
    model: Model,
    situation: Situation,
    name: str,
    results: tuple[str, ...],
    fresh: tuple[FloatArray, ...],
) -> tuple[FloatArray, ...]:
    """Return the chances where the look was made before: the same cause gives the same sight."""
    column = heard(name)
    if column not in situation.ensemble.columns:
        return fresh
    same = situation.ensemble.columns[column] == _heard_now(model, situation, name)
    other = (1.0 - _REPEATS) / (len(results) - 1)
    return tuple(
        np.where(same, _REPEATS if result == situation.looks[name] else other, chance)
        for result, chance in zip(results, fresh, strict=True)
    )


def heard(name: str) -> str:
    """Name the column that says what a look heard from when it was last made."""
    return f"{HEARD}{name}"


def _heard_now(model: Model, situation: Situation, name: str) -> IntArray:
    """Return what a look hears from in each world: what is left of the set, or an instance."""
    configuration = situation.configuration
    code = model.sets.mask(members_present(model, situation.ensemble, configuration))
    unknown = 1 << model.sets.largest
    for slot in heard_modules(model.pack, model.pack.looks[name]):
        bad = instance_bad(model, situation.ensemble, configuration, slot)
        code = np.where(bad > 0.5, unknown + 1, code)
        if unrecognised(model, configuration, slot) > 0.5:
            code = np.full_like(code, unknown)
    return code


def _chance(model: Model, situation: Situation, name: str, outcome: str) -> FloatArray:
    look = model.pack.looks[name]
    return seen_chance(model, situation, look, model.look_rows[name][outcome], outcome)


def seen_chance(
    model: Model, situation: Situation, look: Look, by_row: FloatArray, outcome: str
) -> FloatArray:
    """Return the chance of an outcome in each world, given it by row as of `of_sets`."""
    seen = by_row[sets_present(model, situation.ensemble, situation.configuration)]
    chances = look.outcomes[outcome]
    otherwise = chances.get("otherwise", 0.0)
    stale = chances.get(STALE, otherwise)
    broken = chances.get(BROKEN, chances.get(Cause.MODULE.value, otherwise))
    for slot in heard_modules(model.pack, look):
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
    now = _heard_now(model, situation, name)
    ensemble = situation.ensemble.assign(heard(name), now)
    looks = {**situation.looks, key: result, name: result}
    return replace(situation, ensemble=ensemble, looks=looks)


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
