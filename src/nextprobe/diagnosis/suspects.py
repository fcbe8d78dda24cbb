"""Suspects: what may be wrong, by family of faults and by set of several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.diagnosis.functioning import members_active
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.diagnosis.weight_parts import log_odds
from nextprobe.diagnosis.wording import say_fault

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


# A set of several faults that is less likely than this is not named.
_WORTH_NAMING = 5e-3
_ALMOST_ALL = 0.5


@dataclass(frozen=True)
class Explanation:
    """A set of faults that explains the evidence so far, all of them at once.

    Parameters
    ----------
    keys : tuple of str
        Families of its members.
    title : str
        In words, as in ``D404 leaky together with residue at J4``.
    probability : float
        That these and no others were wrong.
    """

    keys: tuple[str, ...]
    title: str
    probability: float


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
    sets : tuple of Explanation
        Sets of several faults that it is in, likeliest first; they are in its probability.
    """

    key: str
    title: str
    cause: str
    probability: float
    remaining: float
    prior: float
    sets: tuple[Explanation, ...] = ()


def family_chances(model: Model, situation: Situation, only_active: bool = False) -> FloatArray:
    """Return the posterior chance of each family, shape (N,)."""
    names, family = model.families
    ensemble = situation.ensemble
    sets = ensemble.columns[HYPOTHESIS]
    every = model.sets.members[sets] < model.sets.count
    there = members_active(model, ensemble) if only_active else every
    by_candidate = model.sets.by_candidate(ensemble.probabilities, sets, there)
    return np.bincount(family, by_candidate, len(names)).astype(np.float64)


def family_log_odds(model: Model, situation: Situation) -> FloatArray:
    """Return the log odds of each family against everything else, shape (N,)."""
    chances = family_chances(model, situation)
    rest = 1.0 - chances
    # Where hardly anything is left, the difference would have no digits.
    for index in np.flatnonzero(chances > _ALMOST_ALL):
        others = ~sets_with(model, int(index))[situation.ensemble.columns[HYPOTHESIS]]
        rest[index] = situation.ensemble.probabilities[others].sum()
    with np.errstate(divide="ignore"):
        return log_odds(np.log(chances), np.log(np.maximum(rest, 0.0)))


def sets_with(model: Model, index: int) -> BoolArray:
    """Return which sets have a member of a family, given by its place, shape (S,)."""
    return model.sets.any_member(model.families[1] == index)


def explanations(model: Model, situation: Situation) -> tuple[Explanation, ...]:
    """Return the sets of faults that explain the evidence, likeliest first."""
    return _explained(model, situation, range(len(model.sets)))


def _explained(model: Model, situation: Situation, rows: Sequence[int]) -> tuple[Explanation, ...]:
    names, family = model.families
    chances = situation.ensemble.marginal(HYPOTHESIS, len(model.sets))
    sums: dict[tuple[int, ...], float] = {}
    for row in rows:
        members = model.sets.members[row]
        key = tuple(sorted(family[members[members < model.sets.count]].tolist()))
        sums[key] = sums.get(key, 0.0) + float(chances[row])
    return tuple(
        Explanation(
            tuple(names[index] for index in key),
            " together with ".join(_title(model, index) for index in key),
            chance,
        )
        for key, chance in sorted(sums.items(), key=lambda found: -found[1])
    )


def family_titles(model: Model) -> tuple[str, ...]:
    """Return each family in words, in the order of `Model.families`."""
    return tuple(_title(model, index) for index in range(len(model.families[0])))


def _title(model: Model, index: int) -> str:
    item = model.listed[int(model.first_of_family[index])]
    return say_fault(item.fault, model.pack, model.board)


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
    names, _ = model.families
    before, now = (family_chances(model, trail[place][1]) for place in (0, -1))
    remaining = family_chances(model, trail[-1][1], only_active=True)
    order = np.argsort(-now, kind="stable")[:most]
    several = _several(model, trail[-1][1])
    found = []
    for index in order:
        item = model.listed[int(model.first_of_family[index])]
        found.append(
            Suspect(
                names[index],
                _title(model, int(index)),
                item.cause.value if item.cause else FaultKind.UNLISTED.value,
                float(now[index]),
                float(remaining[index]),
                float(before[index]),
                tuple(found for found in several if names[index] in found.keys),
            )
        )
    return tuple(found)


def _several(model: Model, situation: Situation) -> tuple[Explanation, ...]:
    if not model.sets.several:
        return ()
    rows = range(model.sets.count, len(model.sets))
    return tuple(
        found
        for found in _explained(model, situation, rows)
        if len(found.keys) > 1 and found.probability > _WORTH_NAMING
    )
