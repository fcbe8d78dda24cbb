"""The chance of everything that a look may show, under each candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.fault_sets import FaultSets
from nextprobe.packs.schema import Look


def sightings(look: Look, listed: Sequence[Candidate]) -> Mapping[str, NDArray[np.float64]]:
    """Return, for each outcome, its chance under each candidate, then with nothing wrong.

    Returns
    -------
    mapping of str to ndarray, shape (H + 1,)
    """
    return {
        outcome: np.array(
            [*(_under(item, look, chances) for item in listed), chances.get("otherwise", 0.0)]
        )
        for outcome, chances in look.outcomes.items()
    }


def of_sets(
    by_candidate: Mapping[str, NDArray[np.float64]], sets: FaultSets
) -> Mapping[str, NDArray[np.float64]]:
    """Return the same for every set of faults, then with nothing wrong, shape (S + 1,) each.

    Each member may bring about what is seen; what is seen otherwise is counted once. Where that
    comes to more than one over all outcomes, the outcomes share it.
    """
    if not sets.several:
        return by_candidate
    members = sets.members[sets.count :]
    joint = {name: _either(chances, members) for name, chances in by_candidate.items()}
    total = np.maximum(sum(joint.values(), np.zeros(len(members))), 1.0)
    return {
        name: np.concatenate([by_candidate[name][:-1], chances / total, by_candidate[name][-1:]])
        for name, chances in joint.items()
    }


def _either(chances: NDArray[np.float64], members: NDArray[np.intp]) -> NDArray[np.float64]:
    """Combine members as a noisy OR, the leak being what is seen with nothing wrong."""
    leak = chances[-1]
    if leak >= 1.0:
        return np.ones(len(members))
    silent = (1.0 - chances[members]) / (1.0 - leak)
    return np.asarray(np.clip(1.0 - (1.0 - leak) * silent.prod(axis=1), 0.0, 1.0))


def _under(item: Candidate, look: Look, chances: Mapping[str, float]) -> float:
    """Return the chance of an outcome under one candidate."""
    otherwise = chances.get("otherwise", 0.0)
    fault = item.fault
    if look.connector is not None and item.located and not _at(look.connector, fault.place):
        return otherwise
    if look.function is not None and not item.stops.get(look.function, 0.0):
        return otherwise
    by_kind = chances.get(fault.kind.value)
    if by_kind is not None:
        return by_kind
    return chances.get(item.cause.value, otherwise) if item.cause else otherwise


def _at(connector: str, place: str) -> bool:
    return any(end.partition(".")[0] == connector for end in place.replace("/", "~").split("~"))
