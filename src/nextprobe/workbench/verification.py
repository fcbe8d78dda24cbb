"""What is to be checked before a device is handed over."""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.diagnosis import Case, Check, Fit, Refresh, Work
from nextprobe.diagnosis.ids import slug
from nextprobe.diagnosis.options import VERIFY
from nextprobe.diagnosis.proof import unproven
from nextprobe.workbench.step_titles import step_title

_CHANGES = (Fit, Refresh, Work)


@dataclass(frozen=True)
class ToCheck:
    """A function of the device, and whether it was checked since anything was done to it.

    Parameters
    ----------
    function, title : str
    step : str
        Id of the step that checks it.
    how : str
    complaint : bool
        Whether this is what the customer complained of.
    last : str
        What the last check said; empty if there was none.
    stands : bool
        Whether nothing was done to the device since.
    """

    function: str
    title: str
    step: str
    how: str
    complaint: bool
    last: str
    stands: bool


@dataclass(frozen=True)
class Verification:
    """What is to be checked before a device is handed over.

    Parameters
    ----------
    checks : tuple of ToCheck
        Every function, the complaint first.
    repeat : str
        Id of the step that repeats the check of the complaint; empty if it is not offered now.
    repeat_title : str
    unproven : tuple of str
        Modules that are replaced though nothing shows that the original is bad.
    """

    checks: tuple[ToCheck, ...]
    repeat: str
    repeat_title: str
    unproven: tuple[str, ...]


def verification(case: Case) -> Verification:
    """Return what is to be checked before a device is handed over."""
    pack, complaint = case.model.pack, case.model.complaint
    order = sorted(pack.functions, key=lambda name: name != complaint)
    offered = {option.id for option in case.problem.options(case.situation)}
    repeat = VERIFY if VERIFY in offered else ""
    return Verification(
        tuple(_to_check(case, name) for name in order),
        repeat,
        step_title(case, VERIFY) if repeat else "",
        unproven(case.model, case.situation),
    )


def _to_check(case: Case, name: str) -> ToCheck:
    function = case.model.pack.functions[name]
    last, stands = "", False
    for move in case.moves:
        if isinstance(move.act, Check) and move.act.function == name:
            last, stands = move.result, True
        elif isinstance(move.act, _CHANGES):
            stands = False
    complaint = name == case.model.complaint
    return ToCheck(
        name, function.title, f"check:{slug(name)}", function.check.how, complaint, last, stands
    )
