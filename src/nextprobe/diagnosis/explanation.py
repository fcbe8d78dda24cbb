"""What raised and what lowered a suspect, in parts that add up to where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.evidence import gather
from nextprobe.diagnosis.evidence_shares import Shares, Sharing
from nextprobe.diagnosis.observations import Observation, observations
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.diagnosis.story_weights import story_weights
from nextprobe.diagnosis.weight_parts import log_odds

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

# An observation under which all is as likely to this is none [nats].
_NOTHING = 1e-12


@dataclass(frozen=True, eq=False)
class Explained:
    """What moved one suspect. All numbers are natural logarithms of odds, or changes of them.

    ``at_first`` with the story's parts gives ``came_in``; that with the evidence's gives ``now``.

    Parameters
    ----------
    at_first : float
        By the shares of causes among such complaints and the rates of faults alone.
    story : Shares, N parts
        What the pieces of the story did.
    came_in : float
        When the device came in, before anything was seen.
    evidence : Shares, M parts
        What the observations did.
    now : float
    """

    at_first: float
    story: Shares
    came_in: float
    evidence: Shares
    now: float


@dataclass(frozen=True)
class RivalPart:
    """What an observation says of a suspect against one rival.

    Parameters
    ----------
    families : tuple of str
        Of the faults that the rival is: one, or several at once.
    nats : float
        Positive where it speaks for the suspect.
    """

    families: tuple[str, ...]
    nats: float


class Evidence:
    """The story and the observations of a case, as what they say of each set of faults.

    What an observation says of a set is its likelihood given the set and all that was entered
    before: readings that deviate together, and checks of one function, are counted once. Between
    sets no order enters: a suspect's parts are shared out over orders.

    Parameters
    ----------
    case : Case
    entries : sequence of int or None
        Which entry of the log each move belongs to; each is its own if left out.
    """

    def __init__(self, case: Case, entries: Sequence[int] | None = None) -> None:
        self._case = case
        model, moves = case.model, case.moves
        weights = np.stack([_by_set(situation, len(model.sets)) for _, situation in case.trail])
        self._came_in, self._now = weights[0], weights[-1]
        gathered = gather(moves, model.expectations) if model.expectations is not None else {}
        of_entries = range(len(moves)) if entries is None else entries
        self.observations: tuple[Observation, ...] = observations(
            moves, gathered, of_entries, model.complaint
        )
        ends = [0, *(each.last + 1 for each in self.observations)]
        self._seen = _changes(weights[ends])
        # What says the same of everything would only make more orders.
        self._telling = np.flatnonzero(np.ptp(self._seen, axis=1) > _NOTHING)

    @property
    def story(self) -> tuple[str, ...]:
        """Titles of the pieces of the story."""
        return self._told[0]

    @cached_property
    def _told(self) -> tuple[tuple[str, ...], FloatArray]:
        """The pieces of the story, and the log prior of each set before and after each."""
        titles, prior = story_weights(self._case.model, self._case.brief.history)
        return titles, np.vstack([prior[:-1], self._came_in]) if titles else prior

    def shares(self, which: BoolArray) -> tuple[Shares, ...]:
        """Return what the observations did to each of several suspects.

        Parameters
        ----------
        which : ndarray of bool, shape (F, H)
            The candidates that each suspect is: that one of them is there.
        """
        found = []
        for told in self._sharing(which).shares():
            nats, error = np.zeros((2, len(self.observations)))
            nats[self._telling], error[self._telling] = told.nats, told.error
            found.append(Shares(nats, error, told.orders))
        return tuple(found)

    def explained(self, which: BoolArray) -> Explained:
        """Return all that moved one suspect; `which` are its candidates, shape (H,)."""
        inside, (_, prior) = self._inside(which[None, :])[0], self._told
        [story] = Sharing(_changes(prior), prior[0], inside).shares()
        [told] = self.shares(which[None, :])
        at_first, came_in, now = (
            _odds(weights, inside) for weights in (prior[0], self._came_in, self._now)
        )
        return Explained(at_first, story, came_in, told, now)

    def by_rival(self, which: BoolArray, observations: Sequence[int]) -> tuple[RivalPart, ...]:
        """Return what some observations did together, split by rival, the greatest part first."""
        names, numbers = self._rivals()
        sharing, parts = self._sharing(which[None, :]), np.zeros(len(names))
        for row in np.flatnonzero(np.isin(self._telling, observations)).tolist():
            parts += sharing.by_rival(row, numbers)
        order = np.argsort(-np.abs(parts), kind="stable")
        return tuple(RivalPart(names[at], float(parts[at])) for at in order if parts[at])

    def _inside(self, which: BoolArray) -> BoolArray:
        """Return the sets in which each suspect is, shape (F, S)."""
        return np.stack([self._case.model.sets.any_member(each) for each in which])

    def _sharing(self, which: BoolArray) -> Sharing:
        return Sharing(self._seen[self._telling], self._came_in, self._inside(which))

    def _rivals(self) -> tuple[list[tuple[str, ...]], IntArray]:
        """Return what each rival is, and the rival that each set belongs to, shape (S,)."""
        model = self._case.model
        names, family = model.families
        keys = [
            tuple(sorted({names[family[member]] for member in row if member < model.sets.count}))
            for row in model.sets.members.tolist()
        ]
        known = {key: place for place, key in enumerate(dict.fromkeys(keys))}
        return list(known), np.array([known[key] for key in keys], dtype=np.intp)


def _by_set(situation: Situation, count: int) -> FloatArray:
    """Return the log weight of each set of faults, shape (S,)."""
    weights, sets = situation.ensemble.log_weights, situation.ensemble.columns[HYPOTHESIS]
    greatest = np.full(count, -np.inf)
    np.maximum.at(greatest, sets, weights)
    shift = np.where(np.isneginf(greatest), 0.0, greatest)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.bincount(sets, np.exp(weights - shift[sets]), count)) + shift)


def _changes(weights: FloatArray) -> FloatArray:
    """Return how the log shares of sets change from row to row, shape (N, S).

    Of what had been ruled out before, an observation says nothing.
    """
    shares = weights - np.logaddexp.reduce(weights, axis=1)[:, None]
    before, after = shares[:-1], shares[1:]
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(np.isneginf(before), 0.0, after - before))


def _odds(log_weights: FloatArray, inside: BoolArray) -> float:
    sides = [np.logaddexp.reduce(log_weights[side]) for side in (inside, ~inside)]
    return float(log_odds(*sides))
