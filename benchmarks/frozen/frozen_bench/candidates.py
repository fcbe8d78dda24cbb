"""Repair-level candidates: what would have to be done, whichever of its faults it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from nextprobe.board import FaultKind
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.repairs import cures_of
from nextprobe.diagnosis.suspects import explanations
from nextprobe.diagnosis.wording import say_fault
from nextprobe.packs.schema import Pack

_FIRMWARE = frozenset({FaultKind.RECOGNITION_STALE, FaultKind.FIRMWARE_CORRUPT})
ELSEWHERE = "not located"


def repair_of(case: Case, item: Candidate) -> str:
    """Return the id of the proper work against a fault, as in ``clean J4`` or ``replace: C401``.

    What has no place on the board that anybody could name is ``not located``.
    """
    fault = item.fault
    if fault.kind is FaultKind.MODULE_BAD:
        return f"replace module: {fault.place}"
    if fault.kind in _FIRMWARE:
        return "refresh firmware"
    if fault.kind is FaultKind.EXTERNAL:
        return f"outside: {fault.place.partition('/')[2] or 'anything'}"
    if not item.located:
        return ELSEWHERE
    for work, place, _ in cures_of(case.brief.pack, case.brief.board, fault):
        return f"{work}: {place}"
    return ELSEWHERE


def repairs_by_family(case: Case) -> dict[str, str]:
    """Return the id of the repair of each family of faults, in the order of the candidates."""
    found: dict[str, str] = {}
    for item in case.model.listed:
        found.setdefault(item.fault.family, repair_of(case, item))
    return found


def title_of(pack: Pack, repair: str) -> str:
    """Return a repair in words."""
    work, _, place = repair.partition(": ")
    match work:
        case "replace module":
            return f"replace the {pack.modules[place].title}"
        case "refresh firmware":
            return "refresh the firmware"
        case "outside":
            return f"what lies outside the device: {place}"
        case "not located":
            return "a fault that has no place here: search on, or hand on"
    return f"{pack.work[work].title}: {place}"


def candidates_data(case: Case) -> list[dict[str, Any]]:
    """Return the candidates of a complaint, each with the faults that it stands for in words."""
    brief, found = case.brief, dict[str, dict[str, str]]()
    for item in case.model.listed:
        said = say_fault(item.fault, brief.pack, brief.board)
        found.setdefault(repair_of(case, item), {}).setdefault(item.fault.family, said)
    return [
        {"id": name, "title": title_of(brief.pack, name), "faults": faults}
        for name, faults in found.items()
    ]


def prior_data(case: Case) -> dict[str, float]:
    """Return the prior of each candidate, one fault being there: what the rates of the pack say."""
    names = [repair_of(case, item) for item in case.model.listed]
    sums: dict[str, float] = {}
    for name, chance in zip(names, case.model.prior.tolist(), strict=True):
        sums[name] = sums.get(name, 0.0) + chance
    return {name: float(f"{chance:.5g}") for name, chance in sums.items()}


def repair_chances(case: Case, repairs: Mapping[str, str]) -> dict[str, float]:
    """Return the chance of each repair to be needed for what was wrong at intake.

    Parameters
    ----------
    case : Case
    repairs : mapping of str to str
        Of :func:`repairs_by_family`.
    """
    found = dict.fromkeys(repairs.values(), 0.0)
    for each in explanations(case.model, case.situation):
        for name in {repairs[key] for key in each.keys}:
            found[name] += each.probability
    return {name: float(np.clip(chance, 0.0, 1.0)) for name, chance in found.items()}
