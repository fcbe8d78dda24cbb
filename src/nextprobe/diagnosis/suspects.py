"""Suspects with what moved them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import EvidenceWeight
from nextprobe.board import FaultKind
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import ACTIVE, HYPOTHESIS, Situation
from nextprobe.diagnosis.wording import say_fault

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Suspect:
    """A fault that explains the evidence so far.

    Parameters
    ----------
    key : str
        Stable name, without a magnitude.
    title : str
        In words.
    cause : str
        The share of complaints that it belongs to.
    probability : float
        That this is what was wrong.
    remaining : float
        That it still is.
    prior : float
        Before any evidence.
    weights : tuple of EvidenceWeight
        What moved it, in the order of the job; they add up to the whole change of log odds.
    """

    key: str
    title: str
    cause: str
    probability: float
    remaining: float
    prior: float
    weights: tuple[EvidenceWeight, ...] = ()


def families(model: Model) -> tuple[tuple[str, ...], NDArray[np.intp]]:
    """Return the names of families of candidates, and the family of each candidate, shape (H,)."""
    names = tuple(dict.fromkeys(item.fault.family for item in model.listed))
    place = {name: index for index, name in enumerate(names)}
    return names, np.array([place[item.fault.family] for item in model.listed])


def family_chances(model: Model, situation: Situation, only_active: bool = False) -> FloatArray:
    """Return the posterior chance of each family, shape (N,)."""
    names, family = families(model)
    ensemble = situation.ensemble
    weights = ensemble.probabilities
    if only_active:
        weights = weights * (ensemble.columns[ACTIVE] == 1)
    sums = np.bincount(family[ensemble.columns[HYPOTHESIS]], weights, len(names))
    return sums.astype(np.float64)


def suspects(
    model: Model, trail: Sequence[tuple[str, Situation]], most: int | None = None
) -> tuple[Suspect, ...]:
    """Return the suspects, likeliest first.

    Parameters
    ----------
    model : Model
    trail : sequence of (str, Situation)
        The situation at the start and after each piece of evidence, with its name.
    most : int or None
        How many at most.
    """
    names, family = families(model)
    chances = np.stack([family_chances(model, situation) for _, situation in trail])
    remaining = family_chances(model, trail[-1][1], only_active=True)
    weights = _weights(chances)
    order = np.argsort(-chances[-1], kind="stable")[:most]
    first = {int(f): i for i, f in reversed(list(enumerate(family)))}
    found = []
    for index in order:
        item = model.listed[first[int(index)]]
        moved = tuple(
            EvidenceWeight(name, float(nats))
            for (name, _), nats in zip(trail[1:], weights[:, index], strict=True)
            if abs(nats) > 1e-9
        )
        found.append(
            Suspect(
                names[index],
                say_fault(item.fault, model.pack, model.board),
                item.cause.value if item.cause else FaultKind.UNLISTED.value,
                float(chances[-1, index]),
                float(remaining[index]),
                float(chances[0, index]),
                moved,
            )
        )
    return tuple(found)


def _weights(chances: FloatArray) -> FloatArray:
    """Return the change of the log odds of each family by each step, shape (E, N).

    Good 1950, Probability and the Weighing of Evidence, ch. 6.
    """
    safe = np.clip(chances, 1e-300, 1.0)
    rest = np.clip(1.0 - chances, 1e-16, 1.0)
    odds = np.log(safe) - np.log(rest)
    return np.diff(odds, axis=0)
