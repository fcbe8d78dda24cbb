"""What an act costs in this shop, with the device as it stands."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import MeterMode, PartKind
from nextprobe.diagnosis.acts import (
    ORIGINAL,
    Act,
    Check,
    Fit,
    Gauge,
    Look,
    Probe,
    Refresh,
    Work,
)
from nextprobe.diagnosis.attempts import done_before
from nextprobe.diagnosis.ids import named, slug
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.repairs import work_id
from nextprobe.packs.schema import Access, Pack, SupplyStage
from nextprobe.packs.schema import Work as WorkData
from nextprobe.planning import Configuration, Cost

DEPTHS = (Access.CLOSED, Access.OPEN, Access.BOARD_OUT)
_DEPTH = {level: depth for depth, level in enumerate(DEPTHS)}
_WAY = {Access.OPEN: "open", Access.BOARD_OUT: "board out"}
LIVE = "live voltage"
# Every step takes this long besides: to find the place, to read, to note [s].
STEP_OVERHEAD = 30.0
# A check that is repeated at once takes a part of the time of the first.
_AGAIN = 0.25
# What leaving another instance in costs, as a share of a lost pairing: a paired part that
# survives on the original flex can be moved over, which takes care and sometimes goes wrong.
_KEPT_AWAY = {"warning": 0.25, "lost while away": 0.2, "transferable": 0.1}


def access_of(pack: Pack, act: Act) -> Access:
    """Return how far the device must be taken apart for an act."""
    match act:
        case Fit(slot, _):
            return pack.modules[slot].access
        case Refresh():
            return Access.CLOSED
        case Work(name, _):
            return pack.work[name].access
        case Check(function):
            return pack.functions[function].check.access
        case Look(name):
            return pack.looks[name].access
        case Probe(mode=MeterMode.DC_VOLTS):
            return pack.work[LIVE].access
        case Probe():
            return pack.readings.access
        case Gauge(stage):
            return supply_stage(pack, stage).access


def supply_stage(pack: Pack, stage: str) -> SupplyStage:
    """Return a stage of the supply current; raises UnknownStepError if the pack has none."""
    stages = pack.supply_current.stages() if pack.supply_current else {}
    return stages[named(stages, slug(stage))]


def depth_of(pack: Pack, act: Act) -> int:
    """Return how far that is, as a place in DEPTHS."""
    return _DEPTH[access_of(pack, act)]


def opened_for(configuration: Configuration, access: Access) -> Configuration:
    """Return the configuration with the device taken apart at least that far."""
    if _DEPTH[access] <= _DEPTH[Access(configuration.opened)]:
        return configuration
    return configuration.with_(opened=access.value)


def made_ready(pack: Pack, configuration: Configuration, act: Act) -> Configuration:
    """Return the configuration that an act leaves: how far open, the meter, the power."""
    configuration = opened_for(configuration, access_of(pack, act))
    match act:
        case Probe(mode=MeterMode.DC_VOLTS):
            opened = Access.OPEN.value if _out(configuration) else None
            meter = MeterMode.DC_VOLTS.value
            return configuration.with_(meter=meter, powered=True, opened=opened)
        case Probe():
            return configuration.with_(meter=act.mode.value, powered=False)
        case Work() | Fit():
            return configuration.with_(powered=False) if configuration.powered else configuration
    return configuration


def _out(configuration: Configuration) -> bool:
    return configuration.opened == Access.BOARD_OUT.value


def meter_cost(pack: Pack, configuration: Configuration, probe: Probe) -> Cost:
    """Return what it costs to be ready for a reading: the mode of the meter, and the power.

    A board that is out goes back before it is put under power.
    """
    settings, live = pack.readings, probe.mode is MeterMode.DC_VOLTS
    before = configuration.meter or MeterMode.DIODE.value
    cost = _minutes(settings.minutes_switch) if before != probe.mode.value else Cost()
    if configuration.powered != live:
        cost += _minutes(settings.minutes_power)
    if live and _out(configuration):
        cost += work_cost(pack, pack.work["board out"])
    return cost


def ways_in(configuration: Configuration, access: Access) -> tuple[str, ...]:
    """Return the work that is still to do to take the device apart that far."""
    opened = _DEPTH[Access(configuration.opened)]
    return tuple(name for level, name in _WAY.items() if opened < _DEPTH[level] <= _DEPTH[access])


def way_in(pack: Pack, configuration: Configuration, access: Access) -> Cost:
    """Return what it costs to take the device apart that far."""
    ways = ways_in(configuration, access)
    return sum((work_cost(pack, pack.work[name]) for name in ways), Cost())


def work_cost(pack: Pack, work: WorkData) -> Cost:
    """Return the cost of a kind of work: time, parts and expected damage."""
    attended = work.minutes * 60.0
    elapsed = attended + work.elapsed * 60.0
    return Cost(attended, elapsed, work.parts, work.harm * pack.costs.damage)


def act_cost(model: Model, configuration: Configuration, act: Act) -> Cost:
    """Return what an act costs, taking the device apart for it included."""
    pack = model.pack
    return way_in(pack, configuration, access_of(pack, act)) + _bare_cost(model, configuration, act)


def _bare_cost(model: Model, configuration: Configuration, act: Act) -> Cost:
    pack = model.pack
    match act:
        case Fit(slot, instance):
            return _minutes(pack.modules[slot].minutes) + _unpairing(pack, slot, instance)
        case Refresh(name):
            return _refresh_cost(pack, configuration, name)
        case Work(name, _):
            return work_cost(pack, pack.work[name])
        case Check(function, times, confirmed):
            again = (times - 1 + confirmed) * _AGAIN
            return _minutes(pack.functions[function].check.minutes * (1.0 + again))
        case Look(name):
            return _minutes(pack.looks[name].minutes)
        case Probe(mode=MeterMode.DC_VOLTS):
            return work_cost(pack, pack.work[LIVE]) + meter_cost(pack, configuration, act)
        case Probe():
            touching = _minutes(pack.readings.minutes_known)
            return touching + meter_cost(pack, configuration, act)
        case Gauge(stage):
            return _minutes(supply_stage(pack, stage).minutes)


def _minutes(minutes: float) -> Cost:
    return Cost(minutes * 60.0, minutes * 60.0)


def _unpairing(pack: Pack, slot: str, instance: str) -> Cost:
    """Return the loss where a paired part does not survive being away from its board."""
    gone = [p for p in pack.modules[slot].pairing if p.grade == "lost for good"]
    lost = bool(gone) and instance != ORIGINAL
    return Cost(harms=pack.costs.pairing if lost else 0.0)


def _refresh_cost(pack: Pack, configuration: Configuration, name: str) -> Cost:
    refresh = pack.refreshes[name]
    attended = refresh.attended * 60.0
    harm = refresh.bricks * pack.costs.lost_job
    if not refresh.keeps_data and not configuration.backed_up:
        harm += pack.costs.data
    return Cost(attended, attended + refresh.elapsed * 60.0, 0.0, harm)


def acts_cost(
    model: Model, configuration: Configuration, acts: tuple[Act, ...]
) -> tuple[Cost, Configuration]:
    """Return what a sequence costs in all, and how far the device is open afterwards."""
    total = Cost()
    for act in acts:
        total += act_cost(model, configuration, act)
        configuration = made_ready(model.pack, configuration, act)
        if isinstance(act, Fit):
            configuration = configuration.with_(fitted={act.slot: act.instance})
    return total, configuration


def charged(model: Model, cost: Cost) -> float:
    """Return what the customer is charged for of a cost: attended time and parts [currency]."""
    return model.tariff.price(Cost(attended=cost.attended, parts=cost.parts))


def charges(
    model: Model, configuration: Configuration, acts: tuple[Act, ...], tried: Collection[str]
) -> float:
    """Return what the customer is charged for of a sequence of acts [currency].

    Work that did not help is done again on the shop's own account: common practice, no published
    source.
    """
    again = done_before(tried)
    total = Cost()
    for act in acts:
        if not (isinstance(act, Work) and work_id(act.name, act.place) in again):
            total += act_cost(model, configuration, act)
        configuration = acts_cost(model, configuration, (act,))[1]
    return charged(model, total)


def handover_cost(model: Model, configuration: Configuration) -> Cost:
    """Return what it costs to hand the device back as it is: closing, and what stays fitted."""
    pack = model.pack
    total = work_cost(pack, pack.work["close"])
    total += _putting_back(model, configuration)
    for slot, instance in configuration.fitted.items():
        if instance != ORIGINAL:
            total += Cost(parts=pack.modules[slot].price, harms=_kept_away(pack, slot))
    return total


def _putting_back(model: Model, configuration: Configuration) -> Cost:
    """Return what it costs to fit what was lifted; a line works without its protection part."""
    if model.board is None:
        return Cost()
    known = model.board.by_reference
    lifted = [name for name in configuration.removed if name in known]
    missed = [name for name in lifted if known[name].kind is not PartKind.PROTECTION]
    return sum((work_cost(model.pack, model.pack.work["small passive"]) for _ in missed), Cost())


def _kept_away(pack: Pack, slot: str) -> float:
    """Return the loss of leaving another instance in for good."""
    shares = [_KEPT_AWAY.get(pairing.grade, 0.0) for pairing in pack.modules[slot].pairing]
    return max(shares, default=0.0) * pack.costs.pairing


def work_prices(
    model: Model,
) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.float64]]:
    """Return the price of each work with the check after it, how deep it lies, and its charge.

    The device is taken to be open far enough already. Each is of shape (W,).
    """
    pack = model.pack
    check = _minutes(model.function.check.minutes) + Cost(STEP_OVERHEAD, STEP_OVERHEAD)
    costs = [work_cost(pack, pack.work[repair.work]) + check for repair in model.work]
    levels = [_DEPTH[pack.work[repair.work].access] for repair in model.work]
    prices = [model.tariff.price(cost) for cost in costs]
    charges = [charged(model, cost) for cost in costs]
    return np.array(prices), np.array(levels, dtype=np.intp), np.array(charges)
