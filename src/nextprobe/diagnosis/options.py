"""What can be done next, as whole options: a trial includes its refresh and its check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from nextprobe.board import BenchSetup
from nextprobe.diagnosis.acts import (
    DONOR,
    ORIGINAL,
    SECOND,
    Act,
    Check,
    Fit,
    Gauge,
    Look,
    Probe,
    Refresh,
    Work,
)
from nextprobe.diagnosis.attempts import failed_refresh
from nextprobe.diagnosis.ids import named, slug
from nextprobe.diagnosis.lifting import LIFT, lift_acts
from nextprobe.diagnosis.looking import look_key
from nextprobe.diagnosis.measuring import SAYS, Measurement
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.proof import needs_proof, unproven
from nextprobe.diagnosis.reading_cautions import reading_cautions
from nextprobe.diagnosis.repairs import Repair
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.supply import gauge_id
from nextprobe.diagnosis.transitions import checked_here, failed_again
from nextprobe.errors import UnknownStepError
from nextprobe.packs.schema import Pack, SupplyStage
from nextprobe.planning import Configuration, Option

CLOSE, DECLINE, ESCALATE = "close", "decline", "escalate"
WIPE, UNPAIR = "wipe", "unpair"
VERIFY = "verify"
_TWICE = "If it fails, check once more at once: it counts as failed only if it fails twice."
VERIFICATIONS = 5
FEEDING = (
    "Take the cell off the board first; the supply takes its place and never feeds a cell.",
    "Set voltage and current limit before the leads touch, and watch the polarity.",
)
TERMINAL = frozenset({CLOSE, DECLINE, ESCALATE})


def restored(configuration: Configuration) -> tuple[Act, ...]:
    """Return the acts that put every original module back."""
    return tuple(
        Fit(slot, ORIGINAL)
        for slot, instance in configuration.fitted.items()
        if instance != ORIGINAL
    )


def acts_of(model: Model, situation: Situation, option: str) -> tuple[Act, ...]:
    """Return the acts of an option, in order; readings and endings have none here.

    Raises
    ------
    UnknownStepError
        If the option names something that the pack does not have.
    """
    kind, _, rest = option.partition(":")
    pack, final = model.pack, Check(model.complaint)
    home = restored(situation.configuration)
    match kind:
        case "check":
            return (Check(named(pack.functions, rest)),)
        case "verify":
            return (Check(model.complaint, VERIFICATIONS),)
        case "look":
            return (Look(named(pack.looks, rest)),)
        case "refresh":
            return (*home, Refresh(named(pack.refreshes, rest)), final)
        case "trial":
            acts = _trial(model, situation, rest)
            return (*acts, replace(final, confirmed=_proves(model, situation, acts[0])))
        case "work":
            repair = _work(model, option)
            return (*home, Work(repair.work, repair.place), final)
        case "current":
            stages = pack.supply_current.stages() if pack.supply_current else {}
            return (Gauge(named(stages, rest)),)
        case "lift":
            return lift_acts(model, rest)
    return ()


def _work(model: Model, option: str) -> Repair:
    try:
        return model.work_by_id[option]
    except KeyError:
        raise UnknownStepError(f"'{option}' is no work that could help here") from None


def _proves(model: Model, situation: Situation, act: Act) -> bool:
    """Tell whether an act puts an original back that must be shown to be bad."""
    if not isinstance(act, Fit) or act.instance != ORIGINAL:
        return False
    return needs_proof(model, situation, act.slot)


def _trial(model: Model, situation: Situation, words: str) -> tuple[Act, ...]:
    slot_word, _, form = words.rpartition(":")
    slot = named(model.pack.modules, slot_word)
    gentle = gentle_refresh(model.pack)
    match form:
        case "fit":
            return (Fit(slot, DONOR),)
        case "fit-refresh":
            return (Fit(slot, DONOR), Refresh(gentle or ""))
        case "refresh":
            return (Refresh(gentle or ""),)
        case "refit":
            return (Fit(slot, ORIGINAL),)
        case "second":
            known = (slot, SECOND) in situation.configuration.recognised
            late = model.pack.modules[slot].recognised == "after refresh" and not known
            refresh = (Refresh(gentle),) if late and gentle else ()
            return (Fit(slot, SECOND), *refresh)
    raise UnknownStepError(f"'{form}' is no form of a trial")


def gentle_refresh(pack: Pack) -> str | None:
    """Return the refresh that keeps data, if the pack has one: update before restore."""
    return next((name for name, refresh in pack.refreshes.items() if refresh.keeps_data), None)


def trial_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield the forms of trial that make sense for each module as it is fitted now."""
    for slot in model.slots:
        fitted = situation.configuration.fitted.get(slot, ORIGINAL)
        if fitted != ORIGINAL:
            yield trial_option(model, situation, slot, "refit")
            if _needs_refresh(model, situation, slot):
                yield trial_option(model, situation, slot, "refresh")
        elif not situation.working:
            if (slot, DONOR) in situation.failed:
                yield from _second_trial(model, situation, slot)
                continue
            yield trial_option(model, situation, slot, "fit")
            if _needs_refresh_after_fit(model, situation, slot):
                yield trial_option(model, situation, slot, "fit-refresh")


def _second_trial(model: Model, situation: Situation, slot: str) -> Iterator[Option]:
    """Yield a trial with another instance: the first one may have been bad itself."""
    if (slot, SECOND) not in situation.failed:
        yield trial_option(model, situation, slot, "second")


def _needs_refresh(model: Model, situation: Situation, slot: str) -> bool:
    return _unrecognised(model, situation, slot, situation.configuration.fitted[slot])


def _needs_refresh_after_fit(model: Model, situation: Situation, slot: str) -> bool:
    return _unrecognised(model, situation, slot, DONOR)


def _unrecognised(model: Model, situation: Situation, slot: str, instance: str) -> bool:
    """Tell whether an instance works only after a refresh that can still be hoped for."""
    known = (slot, instance) in situation.configuration.recognised
    late = model.pack.modules[slot].recognised == "after refresh"
    gentle = gentle_refresh(model.pack)
    return late and not known and gentle is not None and not _hopeless(situation, gentle)


def _hopeless(situation: Situation, refresh: str) -> bool:
    """Tell whether a refresh has stopped half-way as often as work is tried at all."""
    return failed_refresh(refresh) in situation.tried


def trial_option(model: Model, situation: Situation, slot: str, form: str) -> Option:
    """Return the option of a trial with a module in one of its forms."""
    module = model.pack.modules[slot]
    name = module.title
    titles = {
        "fit": f"Fit a known-good {name} and check",
        "fit-refresh": f"Fit a known-good {name}, refresh the firmware, and check",
        "refresh": f"Refresh the firmware with the known-good {name} fitted, and check",
        "refit": f"Refit the original {name} and check",
        "second": f"Try a second known-good {name}, in case the first was bad",
    }
    acts = _trial(model, situation, f"{slug(slot)}:{form}")
    twice = _proves(model, situation, acts[0])
    cautions = list(module.cautions)
    effects = set()
    if form != "refit":
        for pairing in module.pairing:
            gone = f"what stops working: {pairing.lost}" if pairing.lost else pairing.grade
            cautions.append(f"{pairing.part} is paired; {gone}")
            if pairing.grade == "lost for good":
                effects.add(UNPAIR)
    if any(isinstance(act, Refresh) for act in acts):
        cautions.extend(model.pack.refreshes[gentle_refresh(model.pack) or ""].cautions)
    return Option(
        f"trial:{slug(slot)}:{form}",
        titles[form],
        "trial",
        (_TWICE,) if twice else (),
        effects=frozenset(effects),
        cautions=tuple(dict.fromkeys(cautions)),
    )


def refresh_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield refreshes that have not been run yet; one that wipes says so as its effect."""
    if not model.function.needs.firmware:
        return
    for name, refresh in model.pack.refreshes.items():
        if f"refresh:{name}" in situation.tried or _hopeless(situation, name):
            continue
        effects = frozenset() if refresh.keeps_data else frozenset({WIPE})
        yield Option(
            f"refresh:{name}",
            f"{refresh.title}, and check",
            "refresh",
            effects=effects,
            cautions=refresh.cautions,
        )


def look_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield looks that may still show something."""
    for name in model.telling_looks:
        look = model.pack.looks[name]
        if look_key(model, situation, name) not in situation.looks:
            yield Option(
                f"look:{slug(name)}", look.title, "look", (look.how,), cautions=look.cautions
            )


def current_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield the stages of the supply current that may still tell something."""
    supply = model.pack.supply_current
    for name, stage in (supply.stages() if supply else {}).items():
        if gauge_id(situation, name) not in situation.tried:
            yield current_option(name, stage)


def current_option(name: str, stage: SupplyStage) -> Option:
    """Return the option of reading the supply current in one stage."""
    cautions = (*stage.cautions, *FEEDING)
    return Option(f"current:{slug(name)}", stage.title, "current", (stage.how,), cautions=cautions)


def lift_option(model: Model, reference: str) -> Option:
    """Return the option of taking a part off and measuring again."""
    work, probe = lift_acts(model, reference)
    assert isinstance(work, Work) and isinstance(probe, Probe)
    data = model.pack.work[work.name]
    item = Measurement(probe.point, BenchSetup(probe.mode))
    how = f"Take {reference} off, then measure {item.place} {SAYS[probe.mode]}."
    return Option(
        f"{LIFT}:{reference}",
        f"Lift {reference} and measure {item.place} again: tells the part from the chip",
        "reading",
        (how,),
        cautions=tuple(dict.fromkeys((*data.cautions, *reading_cautions(model.pack, item)))),
    )


def check_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield checks of functions that share something with the complaint.

    The complaint itself may be checked once more where it has just failed: a check errs now and
    then, and much hangs on this one.
    """
    shared = model.stops(model.complaint) > 0.0
    for name, function in model.pack.functions.items():
        known = checked_here(model, situation, name)
        if name == model.complaint:
            known = not may_check_again(model, situation)
        if known or not (model.stops(name) * shared).any():
            continue
        title = f"Check: {function.title}"
        yield Option(
            f"check:{slug(name)}", title, "check", (function.check.how,), cautions=function.cautions
        )


def may_check_again(model: Model, situation: Situation) -> bool:
    """Tell whether the complaint may be checked once more with all as it is now."""
    if not checked_here(model, situation, model.complaint):
        return True
    return situation.working is False and not failed_again(model, situation, model.complaint)


def may_check_after_work(model: Model, situation: Situation) -> bool:
    """Tell whether the complaint may be checked once more to see whether work has helped."""
    return situation.changes > 0 and may_check_again(model, situation)


def complaint_check(model: Model) -> str:
    """Return the id of checking the complaint."""
    return f"check:{slug(model.complaint)}"


def work_option(model: Model, name: str) -> Option:
    """Return the option of doing some work and checking the complaint."""
    repair = model.work_by_id[name]
    work = model.pack.work[repair.work]
    place = repair.place
    if place in model.pack.modules:
        place = model.pack.modules[place].title
    elif place in model.pack.functions:
        place = model.pack.functions[place].title
    cautions = [f"Unplug the {part} first." for part in work.unplug if part != "battery"]
    return Option(
        name,
        f"{work.title} ({place}), and check",
        "work",
        cautions=(*cautions, *work.cautions),
    )


def verify_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield the repeated check that a fault which comes and goes calls for."""
    if situation.working and not checked_here(model, situation, model.complaint, VERIFICATIONS):
        title = f"Check {model.function.title} {VERIFICATIONS} times more"
        yield Option(VERIFY, title, "check", (model.function.check.how,))


def ending_options(model: Model, situation: Situation) -> Iterator[Option]:
    """Yield the ways to end the job.

    Nothing is handed over before the repair is verified, and no module is sold before its
    original is shown to be bad.
    """
    verified = checked_here(model, situation, model.complaint, VERIFICATIONS)
    if situation.working and verified and not unproven(model, situation):
        yield Option(CLOSE, "Close and hand over", "end")
    yield Option(ESCALATE, "Hand on to an open-ended search beyond the listed faults", "end")
    yield Option(DECLINE, "Decline the repair", "end")
