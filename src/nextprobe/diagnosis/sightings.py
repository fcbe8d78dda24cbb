"""The chance of everything that a look may show, under each candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.candidates import Candidate
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
