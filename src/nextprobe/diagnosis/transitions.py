"""What an act may show, and what it leaves behind.

Every act goes through three steps that both replay and planning use: `prepared` brings in the
latents that the act introduces, `chances` gives the chance of each result in each world, and
`after` applies the lasting effect.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.board import GROUND, FaultKind
from nextprobe.diagnosis.acts import (
    DONE,
    FAILED,
    FAILS,
    FINISHED,
    NEW,
    ORIGINAL,
    WORKS,
    Act,
    Check,
    Fit,
    Gauge,
    Look,
    Probe,
    Refresh,
    Work,
)
from nextprobe.diagnosis.attempts import attempt_noted, failed_refresh, finishing, trust_now
from nextprobe.diagnosis.fault_sets import left_chances
from nextprobe.diagnosis.functioning import (
    failing,
    has_active,
    member_values,
    members_active,
    unrecognised,
    with_manifestation,
)
from nextprobe.diagnosis.looking import look_chances, looked
from nextprobe.diagnosis.measuring import measurement_from_id
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.proof import needs_proof
from nextprobe.diagnosis.repairs import work_id
from nextprobe.diagnosis.situation import (
    ACTIVE,
    BAD,
    CURED_AT,
    GOOD,
    Situation,
    quality,
    shows,
)
from nextprobe.diagnosis.supply import BANDS, band_chances, gauge_id
from nextprobe.errors import MisuseError
from nextprobe.planning import Configuration

FloatArray = NDArray[np.float64]

# A refresh that stops half-way is that much likelier where the fault lies in what it needs.
_REFRESH_TROUBLE = 4.0
_NEW_BAD = 0.01
_BEFORE = "active before"


def perform(model: Model, situation: Situation, act: Act) -> list[Branch[Situation]]:
    """Return what may come of an act, with the situation after each result."""
    ready = prepared(model, situation, act)
    results, likelihoods = chances(model, ready, act)
    weights = ready.ensemble.probabilities
    branches = []
    for result, likelihood in zip(results, likelihoods, strict=True):
        probability = float(weights @ likelihood)
        if probability > 1e-12:
            seen = _conditioned(model, ready, act, result, likelihood)
            branches.append(Branch(result, probability, after(model, seen, act, result)))
    return branches


def accept(model: Model, situation: Situation, act: Act, result: str) -> Situation:
    """Return the situation after an act gave `result`.

    Raises
    ------
    MisuseError
        If the act can not give such a result.
    """
    ready = prepared(model, situation, act)
    results, likelihoods = chances(model, ready, act)
    if result not in results:
        raise MisuseError(f"'{result}' is not one of: {', '.join(results)}")
    seen = _conditioned(model, ready, act, result, likelihoods[results.index(result)])
    return after(model, seen, act, result)


def _conditioned(
    model: Model, situation: Situation, act: Act, result: str, likelihood: FloatArray
) -> Situation:
    with np.errstate(divide="ignore"):
        ensemble = situation.ensemble.condition(np.log(likelihood))
    if isinstance(act, Check) and shows(act.function) in ensemble.within:
        works = _works(model, situation, act)
        by_way = (works if result == WORKS else 1.0 - works) * ensemble.within[shows(act.function)]
        learned = by_way / np.where(likelihood > 0.0, likelihood, 1.0)[:, None]
        ensemble = ensemble.learned(shows(act.function), learned)
    return replace(situation, ensemble=ensemble.selected(likelihood > 0.0))


def _works(model: Model, situation: Situation, act: Check) -> FloatArray:
    """Return the chance that a check is passed, by world and way that faults show, (R, K)."""
    check = model.pack.functions[act.function].check
    fails = failing(model, situation.ensemble, situation.configuration, act.function)
    seen = fails * (1.0 - check.false_pass) + (1.0 - fails) * check.false_fail
    return np.asarray((1.0 - seen**2 if act.confirmed else 1.0 - seen) ** act.times)


def prepared(model: Model, situation: Situation, act: Act) -> Situation:
    """Bring in the latent quantities that an act introduces, drawn once per device."""
    match act:
        case Check(function):
            return replace(
                situation, ensemble=with_manifestation(model, situation.ensemble, function)
            )
        case Fit(slot, instance) if instance != ORIGINAL:
            column = quality(slot, instance)
            if column not in situation.ensemble.columns:
                bad = _NEW_BAD if instance == NEW else model.pack.modules[slot].donor_bad
                ensemble = situation.ensemble.split(column, [GOOD, BAD], [1.0 - bad, bad])
                return replace(situation, ensemble=ensemble)
    return situation


def chances(
    model: Model, situation: Situation, act: Act
) -> tuple[tuple[str, ...], tuple[FloatArray, ...]]:
    """Return the results that an act can give and the chance of each in each world."""
    match act:
        case Check(function):
            ways = situation.ensemble.within.get(shows(function), np.ones((1, 1)))
            works = np.minimum((_works(model, situation, act) * ways).sum(axis=1), 1.0)
            return (WORKS, FAILS), (works, 1.0 - works)
        case Refresh(name):
            finished = _finish_chance(model, situation, name)
            return (FINISHED, FAILED), (finished, 1.0 - finished)
        case Look(name):
            return look_chances(model, situation, name)
        case Fit() | Work():
            return (DONE,), (np.ones(len(situation.ensemble)),)
        case Gauge(stage):
            return BANDS, band_chances(model, situation, stage)
        case Probe():
            raise MisuseError("a reading is a number and not one of a few results")


def after(model: Model, situation: Situation, act: Act, result: str) -> Situation:
    """Return the situation once an act has had its effect."""
    match act:
        case Check(function):
            checked = replace(situation, tried=_noted(model, situation, act, result))
            if function != model.complaint:
                return checked
            if result == FAILS and act.times == 1:
                checked = replace(checked, failed=_failed(model, situation, act))
            return replace(checked, working=result == WORKS)
        case Look(name):
            return looked(model, situation, name, result)
        case Fit(slot, instance):
            return _fitted(model, situation, slot, instance)
        case Refresh(name):
            return _refreshed(model, situation, name, result)
        case Work(name, place):
            return _worked(model, situation, name, place)
        case Gauge(stage):
            return situation.with_tried(gauge_id(situation, stage))
        case Probe():
            return situation


def _failed(model: Model, situation: Situation, act: Check) -> frozenset[tuple[str, str]]:
    """Return the instances with which it fails though the firmware knows them.

    A check itself fails once in a while, and a module is too dear to be sold on that: an original
    of which a refresh has made all earlier failures void counts only where a failure came twice.
    One failure among the several looks of a verification does not count at all.
    """
    configuration = situation.configuration
    return situation.failed.union(
        (slot, instance)
        for slot, instance in configuration.fitted.items()
        if unrecognised(model, configuration, slot) == 0.0
        and (act.confirmed or instance != ORIGINAL or not needs_proof(model, situation, slot))
    )


def _noted(model: Model, situation: Situation, act: Check, result: str) -> frozenset[str]:
    """Return what has been tried after a check; a failure undoes every verification."""
    if result == WORKS:
        return situation.tried | {_tried(model, situation, act)}
    verified = {name for name in situation.tried if name.startswith(f"verified:{act.function}:")}
    name = _tried(model, situation, Check(act.function))
    failed_before = act.function == model.complaint and situation.working is False
    again = {_again(name)} if failed_before else set()
    return situation.tried - verified | {name} | again


def _tried(model: Model, situation: Situation, act: Check) -> str:
    """Name a check together with what it depends on: its own modules, and work on its fault."""
    configuration = situation.configuration
    needs = model.pack.functions[act.function].needs
    state = (
        [configuration.fitted[slot] for slot in needs.modules],
        sorted(configuration.repaired) if act.function == model.complaint else [],
        sorted(configuration.refreshed) if needs.firmware else [],
    )
    kind = "check" if act.times == 1 else "verified"
    return f"{kind}:{act.function}:{act.times}:{state}"


def checked_here(model: Model, situation: Situation, function: str, times: int = 1) -> bool:
    """Tell whether a function has been checked with everything as it is now."""
    return _tried(model, situation, Check(function, times)) in situation.tried


def failed_again(model: Model, situation: Situation, function: str) -> bool:
    """Tell whether a function was checked once more after it failed, with all as it is now."""
    return _again(_tried(model, situation, Check(function))) in situation.tried


def _again(tried: str) -> str:
    return f"again:{tried}"


def _finish_chance(model: Model, situation: Situation, name: str) -> FloatArray:
    success = finishing(model.pack.refreshes[name].success, situation.tried, name)
    trouble = model.of_kind(FaultKind.FIRMWARE_CORRUPT)
    troubled = has_active(model, situation.ensemble, trouble)
    worse = min(1.0, (1.0 - success) * _REFRESH_TROUBLE)
    return np.where(troubled, 1.0 - worse, success)


def _cured(model: Model, situation: Situation, chance: FloatArray) -> Situation:
    """Take faults away, each candidate with the given chance, shape (H,), and note when."""
    change = situation.changes + 1
    ensemble = situation.ensemble
    cures = member_values(model, ensemble, chance)
    if cures.any():
        left = left_chances(cures, members_active(model, ensemble))
        before = ensemble.assign(_BEFORE, ensemble.columns[ACTIVE])
        ensemble = before.split(ACTIVE, np.arange(left.shape[1]), left)
        columns = dict(ensemble.columns)
        gone = columns.pop(_BEFORE) != columns[ACTIVE]
        columns[CURED_AT] = np.where(gone, change, columns[CURED_AT])
        ensemble = replace(ensemble, columns=columns)
    return replace(situation, ensemble=ensemble, changes=change, working=None)


def _fitted(model: Model, situation: Situation, slot: str, instance: str) -> Situation:
    """Plug a module in; unplugging and plugging seats the connector anew."""
    seat = model.of_kind(FaultKind.SEATING, model.seat_of(slot))
    reseated = np.where(seat, model.pack.work["reseat"].success, 0.0)
    configuration = situation.configuration.with_(fitted={slot: instance})
    return replace(_cured(model, situation, reseated), configuration=configuration)


def _refreshed(model: Model, situation: Situation, name: str, result: str) -> Situation:
    if result != FINISHED:
        noted = attempt_noted(situation.tried, failed_refresh(name))
        return replace(situation, working=None).with_tried(*noted)
    cured = _cured(model, situation, model.refresh_cures[name])
    configuration = _recognising(situation.configuration, name)
    # What the original failed before the refresh says nothing of it after.
    failed = frozenset(pair for pair in situation.failed if pair[1] != ORIGINAL)
    refreshed = replace(cured, configuration=configuration, failed=failed)
    return refreshed.with_tried(f"refresh:{name}")


def _recognising(configuration: Configuration, name: str) -> Configuration:
    """Whatever is fitted while a refresh finishes is recognised from then on."""
    return configuration.with_(refreshed={name}, recognised=configuration.fitted.items())


def _worked(model: Model, situation: Situation, name: str, place: str) -> Situation:
    repair = model.work_by_id.get(work_id(name, place))
    configuration = situation.configuration.with_(repaired={f"{name}:{place}"})
    known = model.pack.work.get(name)
    if known is not None and known.removes:
        configuration = configuration.with_(removed={place})
    elif place in configuration.removed:
        configuration = configuration.without(removed={place})
    if name in ("clean", "ultrasonic"):
        configuration = configuration.with_(cleaned={place})
    if name == "backup":
        configuration = configuration.with_(backed_up=True)
    row = np.zeros(len(model.listed))
    if repair is not None:
        row = model.cure_chances[model.work.index(repair)]
        row = row * trust_now(situation.tried, repair.id)
    changed = _cured(model, situation, row)
    changed = replace(changed, configuration=configuration)
    stale = _stale(model, situation, place)
    noted = attempt_noted(situation.tried, work_id(name, place))
    return changed.without_tried(stale).with_tried(*noted)


def _stale(model: Model, situation: Situation, place: str) -> frozenset[str]:
    """Return the readings that work at a part may have changed: those on its nets."""
    board = model.board
    if board is None or place not in board.by_reference:
        return frozenset()
    nets = {pin.net for pin in board.part(place).pins}
    read = [name for name in situation.tried if name.startswith("probe:")]
    points = {name: measurement_from_id(name, board) for name in read}
    return frozenset(
        name
        for name, item in points.items()
        if any(
            board.has_point(point) and board.net_of(point) in nets
            for point in (item.point, item.setup.clamped)
            if point != GROUND
        )
    )
