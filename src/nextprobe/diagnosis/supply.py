"""The current that a device draws from a bench supply, as evidence.

Each candidate draws a mixture of normal currents: what the pack says for its kind or its cause,
and what is healthy for the rest. A leak of known size on a net that has power before the key
draws by Ohm's law, up to the limit of the supply.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from nextprobe.board import Board, FaultKind
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.effects import site_of
from nextprobe.diagnosis.functioning import sets_present
from nextprobe.diagnosis.ids import slug
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import Situation
from nextprobe.packs.schema import BEFORE_KEY, SupplyCurrent, SupplyStage, SupplyState

FloatArray = NDArray[np.float64]

BANDS = ("less than usual", "as usual", "more than usual", "at the limit")
# How far a current that is computed by Ohm's law may be wrong, as a share of it.
_OHM_SPREAD = 0.4
# A short holds about this much resistance with its traces [ohm].
_SHORT_OHMS = 0.5
# A current that nothing explains, over the whole range of the supply.
_ANYTHING = 0.02
_USUAL = 3.0
_LEAKS = frozenset({FaultKind.LEAKY, FaultKind.LEAK_TO_GROUND})
_SHORTS = frozenset({FaultKind.SHORT, FaultKind.CLAMP_SHORT})


def gauge_id(situation: Situation, stage: str) -> str:
    """Name a supply current together with the state of the device that it depends on."""
    configuration = situation.configuration
    state = (sorted(configuration.repaired), sorted(configuration.fitted.items()))
    return f"current:{slug(stage)}:{state}"


def band_of(supply: SupplyCurrent, stage: SupplyStage, amperes: float) -> str:
    """Return the word for a current."""
    low, high, limit = _edges(supply, stage)
    if amperes < low:
        return BANDS[0]
    if amperes <= high:
        return BANDS[1]
    return BANDS[2] if amperes < limit else BANDS[3]


def _edges(supply: SupplyCurrent, stage: SupplyStage) -> tuple[float, float, float]:
    reach = _USUAL * stage.spread
    limit = 0.97 * supply.limit
    return stage.mean - reach, min(stage.mean + reach, 0.9 * limit), limit


def states_of(
    supply: SupplyCurrent, name: str, item: Candidate, board: Board | None
) -> tuple[SupplyState, ...]:
    """Return the currents that a candidate may draw, with what is healthy last."""
    stage = supply.stages()[name]
    found = _by_ohm(supply, name, item, board)
    if found is None:
        words = [item.fault.kind.value, item.cause.value if item.cause else "", "otherwise"]
        found = next((stage.under[word] for word in words if word in stage.under), ())
        if item.cause is None:
            found = ()
    rest = max(0.0, 1.0 - sum(state.chance for state in found))
    healthy = SupplyState(chance=rest, mean=stage.mean, spread=stage.spread)
    return (*found, healthy)


def _by_ohm(
    supply: SupplyCurrent, name: str, item: Candidate, board: Board | None
) -> tuple[SupplyState, ...] | None:
    """Return what a located electrical fault draws before the key; None where the pack says it."""
    electrical = item.fault.kind.is_electrical and item.located and board is not None
    if name != BEFORE_KEY or not supply.rails or not electrical:
        return None
    assert board is not None
    site = site_of(board, item.fault)
    if not (site.nets & frozenset(supply.rails)):
        return ()
    if item.fault.kind in _SHORTS and (site.grounded or "." in item.fault.place):
        ohms = _SHORT_OHMS
    elif item.fault.kind in _LEAKS and (site.grounded or "." in item.fault.place):
        ohms = item.fault.magnitude or _SHORT_OHMS
    else:
        return None
    stage = supply.stages()[name]
    amperes = min(supply.volts / ohms, supply.limit) + stage.mean
    spread = max(_OHM_SPREAD * supply.volts / ohms, stage.spread)
    return (SupplyState(mean=min(amperes, supply.limit), spread=min(spread, supply.limit)),)


@lru_cache(maxsize=8)
def _mixtures(model: Model, name: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return chances, means and spreads of all sets, nothing wrong last, shape (S + 1, K) each.

    Of several faults, the one that moves the current most counts.
    """
    supply = model.pack.supply_current
    assert supply is not None
    stage = supply.stages()[name]
    fine = (SupplyState(mean=stage.mean, spread=stage.spread),)
    rows = [*(states_of(supply, name, item, model.board) for item in model.listed), fine]
    most = max(len(row) for row in rows)
    table = np.zeros((len(rows), most, 3))
    table[:, :, 2] = 1.0
    for place, row in enumerate(rows):
        for column, state in enumerate(row):
            table[place, column] = state.chance, state.mean, max(state.spread, 1e-6)
    table = np.concatenate([table[:-1], table[_foremost(model, table)], table[-1:]])
    return table[:, :, 0], table[:, :, 1], table[:, :, 2]


def _foremost(model: Model, table: FloatArray) -> NDArray[np.intp]:
    """Return the member that moves the current most, for each set of several; shape (C,)."""
    moves = (table[:, :, 0] * np.abs(table[:, :, 1] - table[-1, 0, 1])).sum(axis=1)
    members = model.sets.members[model.sets.count :]
    if not len(members):
        return np.zeros(0, dtype=np.intp)
    moves[-1] = -1.0
    best = moves[members].argmax(axis=1)
    return np.take_along_axis(members, best[:, None], axis=1)[:, 0]


def band_chances(model: Model, situation: Situation, name: str) -> tuple[FloatArray, ...]:
    """Return the chance of each of BANDS in each world; a repeat can only show the same."""
    if gauge_id(situation, name) in situation.tried:
        return tuple(np.ones(len(situation.ensemble)) for _ in BANDS)
    supply = model.pack.supply_current
    assert supply is not None
    stage = supply.stages()[name]
    chance, mean, spread = _mixtures(model, name)
    edges = np.array(_edges(supply, stage))
    below = ndtr((edges - mean[:, :, None]) / spread[:, :, None])
    mass = np.diff(below, axis=2, prepend=0.0, append=1.0)
    by_row = np.einsum("hk,hkb->bh", chance, mass)
    span = np.diff(np.clip([0.0, *edges, supply.limit], 0.0, supply.limit)) / supply.limit
    by_row = (1.0 - _ANYTHING) * by_row + _ANYTHING * (span / span.sum())[:, None]
    rows = sets_present(model, situation.ensemble, situation.configuration)
    return tuple(each[rows] for each in by_row)


def accept_current(model: Model, situation: Situation, name: str, amperes: float) -> Situation:
    """Return the situation after a current was read [A]; a repeat in one state counts once."""
    key = gauge_id(situation, name)
    if key in situation.tried:
        return situation
    supply = model.pack.supply_current
    assert supply is not None
    chance, mean, spread = _mixtures(model, name)
    if amperes >= 0.97 * supply.limit:
        density = ndtr((mean - 0.97 * supply.limit) / spread)
        anything = 0.03
    else:
        score = (amperes - mean) / spread
        density = np.exp(-0.5 * score**2) / (spread * np.sqrt(2.0 * np.pi))
        anything = 1.0 / supply.limit
    by_row = (1.0 - _ANYTHING) * (chance * density).sum(axis=1) + _ANYTHING * anything
    sharpest = max(1.0, anything, 1.0 / float(spread.min() * np.sqrt(2.0 * np.pi)))
    ensemble = situation.ensemble.condition(
        np.log(by_row[sets_present(model, situation.ensemble, situation.configuration)]),
        log_best=float(np.log(sharpest)),
    )
    return replace(situation, ensemble=ensemble).with_tried(key)
