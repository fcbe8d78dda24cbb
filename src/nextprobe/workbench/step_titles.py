"""What a step is called, by its id, offered now or not."""

from __future__ import annotations

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.ids import named
from nextprobe.diagnosis.options import (
    VERIFICATIONS,
    lift_option,
    trial_option,
    work_option,
)
from nextprobe.errors import UnknownStepError

STOP = "stop"
_ENDINGS = {
    "": "the job ends",
    STOP: "give up: hand on or decline",
    "close": "Close and hand over",
    "decline": "Decline the repair",
    "escalate": "Hand on to an open-ended search beyond the listed faults",
}


def step_title(case: Case, step: str) -> str:
    """Return a step, or an entry of a plan, in words; its id where nothing better is known.

    Parameters
    ----------
    case : Case
    step : str
        An id as in :attr:`Option.id <nextprobe.planning.Option>`; what follows a plus sign,
        with which plans tell forms of a step apart, is left out.
    """
    name = step.partition("+")[0]
    if name in _ENDINGS:
        return _ENDINGS[name]
    try:
        return _title(case, name)
    except UnknownStepError:
        return name


def _title(case: Case, name: str) -> str:
    kind, _, rest = name.partition(":")
    model, pack = case.model, case.model.pack
    match kind:
        case "check":
            return f"Check: {pack.functions[named(pack.functions, rest)].title}"
        case "verify":
            return f"Check {model.function.title} {VERIFICATIONS} times more"
        case "look":
            return pack.looks[named(pack.looks, rest)].title
        case "refresh":
            return f"{pack.refreshes[named(pack.refreshes, rest)].title}, and check"
        case "trial":
            slot, _, form = rest.rpartition(":")
            return trial_option(model, case.situation, named(pack.modules, slot), form).title
        case "work" if name in model.work_by_id:
            return work_option(model, name).title
        case "run" if name in case.problem.probing.runs:
            return case.problem.probing.runs[name].title
        case "probe":
            return case.problem.probing.measured(name).title
        case "current":
            stages = pack.supply_current.stages() if pack.supply_current else {}
            return stages[named(stages, rest)].title
        case "lift":
            return lift_option(model, rest).title
    return name
