"""What each outcome of a step would mean, and what the step can never tell apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.diagnosis.wording import say_fault
from nextprobe.workbench.outcomes import label_shown
from nextprobe.workbench.phrases import say_factor

FloatArray = NDArray[np.float64]

SHOWN = 3
_WORTH_NAMING = 0.02
_MOST_COMPARED = 12
# Suspects whose outcomes are distributed this much alike (total variation distance) count as
# one: a hundred repetitions of the step would be needed to tell them apart with any confidence.
_ALIKE = 0.05


@dataclass(frozen=True)
class Shift:
    """What an outcome does to a suspect.

    Parameters
    ----------
    key, title : str
        Of the suspect.
    before, after : float
        Its probability.
    factor : float
        By which its odds grow or, below 1, fall; 0 if it is ruled out.
    words : str
        The same in words.
    """

    key: str
    title: str
    before: float
    after: float
    factor: float
    words: str


@dataclass(frozen=True)
class Meaning:
    """What one outcome of a step would mean.

    Parameters
    ----------
    label : str
        What is seen.
    probability : float
        Of that.
    likeliest : tuple of Shift
        The suspects that would lead.
    """

    label: str
    probability: float
    likeliest: tuple[Shift, ...]


@dataclass(frozen=True, eq=False)
class Prospects:
    """A step's outcomes against all suspects.

    Parameters
    ----------
    labels : tuple of str, length K
    keys, titles : tuple of str, length N
        Of the suspects.
    chances : ndarray, shape (K,)
        Of the outcomes.
    before : ndarray, shape (N,)
        Probability of each suspect now.
    after : ndarray, shape (K, N)
        The same after each outcome.
    """

    labels: tuple[str, ...]
    keys: tuple[str, ...]
    titles: tuple[str, ...]
    chances: FloatArray
    before: FloatArray
    after: FloatArray

    def factor(self, label: str, key: str) -> float | None:
        """Return by how much an outcome multiplies the odds of a suspect; None if unknown."""
        if label not in self.labels or key not in self.keys:
            return None
        column = self.keys.index(key)
        return _odds_factor(
            float(self.before[column]), float(self.after[self.labels.index(label), column])
        )


def prospects(case: Case, branches: Sequence[Branch[Situation]]) -> Prospects:
    """Return what the outcomes of a step would do to each suspect."""
    keys, family = case.model.families
    first = [int(np.argmax(family == index)) for index in range(len(keys))]
    listed, pack, board = case.model.listed, case.model.pack, case.brief.board
    going_on = [branch for branch in branches if branch.state is not None]
    after = [
        family_chances(case.model, branch.state) for branch in going_on if branch.state is not None
    ]
    return Prospects(
        tuple(branch.label for branch in going_on),
        keys,
        tuple(say_fault(listed[index].fault, pack, board) for index in first),
        np.array([branch.probability for branch in going_on]),
        family_chances(case.model, case.situation),
        np.array(after).reshape(len(going_on), len(keys)),
    )


def meanings(found: Prospects, most: int = SHOWN) -> tuple[Meaning, ...]:
    """Return what each outcome would mean, the likeliest outcome first."""
    order = np.argsort(-found.chances, kind="stable")
    return tuple(_meaning(found, int(row), most) for row in order)


def _meaning(found: Prospects, row: int, most: int) -> Meaning:
    after = found.after[row]
    leading = np.argsort(-after, kind="stable")[:most]
    shifts = tuple(
        _shift(found, row, int(column)) for column in leading if after[column] >= _WORTH_NAMING
    )
    return Meaning(label_shown(found.labels[row]), float(found.chances[row]), shifts)


def _shift(found: Prospects, row: int, column: int) -> Shift:
    before, after = float(found.before[column]), float(found.after[row, column])
    factor = _odds_factor(before, after)
    return Shift(
        found.keys[column], found.titles[column], before, after, factor, say_factor(factor)
    )


def _odds_factor(before: float, after: float) -> float:
    """Return the ratio of odds, kept finite where something is certain."""
    rest_before, rest_after = max(1.0 - before, 1e-12), max(1.0 - after, 1e-12)
    if before <= 0.0:
        return 1.0
    return math.exp(math.log(max(after, 1e-300) / before) + math.log(rest_before / rest_after))


def never_told_apart(found: Prospects) -> tuple[tuple[str, ...], ...]:
    """Return groups of live suspects that no outcome of the step can tell apart.

    IEEE Std 1522 calls them ambiguity groups.
    """
    live = [
        int(column)
        for column in np.argsort(-found.before, kind="stable")[:_MOST_COMPARED]
        if found.before[column] >= _WORTH_NAMING
    ]
    groups: list[list[int]] = []
    for column in live:
        near = next((g for g in groups if _distance(found, g[0], column) <= _ALIKE), None)
        if near is None:
            groups.append([column])
        else:
            near.append(column)
    return tuple(tuple(found.titles[c] for c in group) for group in groups if len(group) > 1)


def _distance(found: Prospects, first: int, second: int) -> float:
    """Return the total variation distance of the outcomes under two suspects."""
    joint = found.after[:, [first, second]] * found.chances[:, None]
    likelihoods = joint / found.before[[first, second]]
    return float(np.abs(likelihoods[:, 0] - likelihoods[:, 1]).sum() / 2.0)
