"""What a suspect's odds are made of, in the words of the bench."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.evidence_shares import Shares
from nextprobe.diagnosis.explanation import Evidence, RivalPart
from nextprobe.diagnosis.observations import KNOWN_GOOD, READING, REPAIR, Observation
from nextprobe.diagnosis.suspects import family_titles
from nextprobe.errors import MisuseError
from nextprobe.workbench.phrases import say_probability, say_times
from nextprobe.workbench.record import Entry
from nextprobe.workbench.suspect_names import Meant, known_suspect
from nextprobe.workbench.words import DECIBANS, Moved, factor_of, moved_by

STORY = "story"
_RIVALS = 8
FELT = 1.05
"""A change of odds by less than this factor is not felt."""
_REST = "all others"
_STARTED = 1
_NOTHING = 1e-9


@dataclass(frozen=True)
class Standing:
    """How a suspect stands at one moment.

    Parameters
    ----------
    nats, decibans : float
        Log odds.
    probability : float
    """

    nats: float
    decibans: float
    probability: float


@dataclass(frozen=True)
class Against:
    """What evidence says of a suspect against one rival.

    Parameters
    ----------
    key : str
        Of the rival; of several at once, joined by ``+``; empty for all others together.
    title : str
    nats, decibans, factor : float
        Positive, and above 1, where it speaks for the suspect and against the rival.
    words : str
        What it says of the rival.
    """

    key: str
    title: str
    nats: float
    decibans: float
    factor: float
    words: str


@dataclass(frozen=True)
class Reckoning:
    """What a suspect's odds are made of.

    The log odds `at_first` and the parts of the `story` sum to those when it `came_in`; these and
    the parts of what `moved` it sum to those of `now`.

    Parameters
    ----------
    key, title : str
    probability : float
        That this is what was wrong.
    words : str
        The same in words.
    at_first : Standing
        By how often what causes such complaints, and the rates of faults, alone.
    story : tuple of Moved
        Weak spots of this kind of device, and what happened to this one.
    came_in : Standing
        Before anything was seen.
    moved : tuple of Moved
        Every observation, in the order of the job.
    now : Standing
    shares : str
        How the parts are shared out between observations.
    orders : int
        Over how many orders; 0 for all.
    said : tuple of str
        In words: what raised and what lowered it most.
    about : tuple of str
        Evidence that was asked about.
    against : tuple of Against
        The parts of that evidence by rival, the greatest first; they sum to its parts in `moved`.
    """

    key: str
    title: str
    probability: float
    words: str
    at_first: Standing
    story: tuple[Moved, ...]
    came_in: Standing
    moved: tuple[Moved, ...]
    now: Standing
    shares: str
    orders: int
    said: tuple[str, ...]
    about: tuple[str, ...] = ()
    against: tuple[Against, ...] = ()


class Reckoner:
    """What all suspects' odds are made of.

    Parameters
    ----------
    case : Case
    entries : sequence of Entry
        Of the log, with the moves of the case.
    """

    def __init__(self, case: Case, entries: Sequence[Entry]) -> None:
        self._case = case
        self._events = [entry.number for entry in entries for _ in entry.moves]
        self._evidence = Evidence(case, self._events)

    def moved(self, suspects: Sequence[str]) -> tuple[tuple[Moved, ...], ...]:
        """Return what moved each of some suspects, by their keys, without what said nothing."""
        names, family = self._case.model.families
        which = [family == names.index(key) for key in suspects]
        return tuple(
            tuple(each for each in self._moved(parts) if abs(each.nats) > _NOTHING)
            for parts in (self._evidence.shares(np.stack(which)) if which else ())
        )

    def reckoning(self, suspect: str, about: str = "") -> Reckoning:
        """Return what a suspect's odds are made of.

        Parameters
        ----------
        suspect : str
            Its key or title, a place, or ``unlisted``.
        about : str
            Number of an event, or words of some evidence: to be split by rival.

        Raises
        ------
        MisuseError
            If there is no such suspect, or no such evidence.
        """
        meant = known_suspect(self._case, suspect)
        found = self._evidence.explained(meant.which)
        story, moved = self._story(found.story), self._moved(found.evidence)
        asked = _asked(moved, about) if about.strip() else []
        now = _standing(found.now)
        return Reckoning(
            meant.key,
            meant.title,
            now.probability,
            say_probability(now.probability),
            _standing(found.at_first),
            story,
            _standing(found.came_in),
            moved,
            now,
            _how_shared(found.evidence.orders),
            found.evidence.orders,
            tuple(_said((*story, *moved))),
            tuple(moved[place].evidence for place in asked),
            self._against(meant, asked),
        )

    def _story(self, parts: Shares) -> tuple[Moved, ...]:
        return tuple(
            moved_by(title, float(nats), STORY, _STARTED, error=float(error))
            for title, nats, error in zip(
                self._evidence.story, parts.nats, parts.error, strict=True
            )
        )

    def _moved(self, parts: Shares) -> tuple[Moved, ...]:
        return tuple(
            moved_by(
                each.title,
                float(nats),
                each.kind,
                self._events[each.last],
                error=float(error),
                note="" if abs(nats) > _NOTHING else self._says_nothing(each),
            )
            for each, nats, error in zip(
                self._evidence.observations, parts.nats, parts.error, strict=True
            )
        )

    def _says_nothing(self, seen: Observation) -> str:
        """Say why an observation says nothing of a suspect."""
        if seen.kind == KNOWN_GOOD:
            return "says what to expect: it counts in the readings of this device"
        if seen.kind == REPAIR:
            return "changes the device, and is no evidence itself"
        reading = self._case.moves[seen.last].reading
        expectations = self._case.model.expectations
        if reading is not None and (
            expectations is None or not expectations.predicts(reading.point, reading.setup)
        ):
            return "kept, and not weighed: nothing is predicted there"
        if seen.kind == READING and not seen.touches:
            return "counts with the first touch of this point"
        return "is as likely either way"

    def _against(self, meant: Meant, asked: Sequence[int]) -> tuple[Against, ...]:
        """Return the parts of evidence by rival; beyond a few, all together."""
        if not asked:
            return ()
        model = self._case.model
        titles = dict(zip(model.families[0], family_titles(model), strict=True))
        parts = self._evidence.by_rival(meant.which, asked)
        shown = [
            _against(part, " together with ".join(titles[family] for family in part.families))
            for part in parts[:_RIVALS]
        ]
        rest = sum(part.nats for part in parts[_RIVALS:])
        return (*shown, _against(RivalPart((), rest), _REST)) if rest else tuple(shown)


def _against(part: RivalPart, title: str) -> Against:
    factor = factor_of(part.nats)
    words = "speaks against it" if factor > 1.0 else "speaks for it"
    if 1.0 / FELT < factor < FELT:
        words = "hardly tells them apart"
    key = " + ".join(part.families)
    return Against(key, title, part.nats, part.nats * DECIBANS, factor, words)


def _asked(moved: Sequence[Moved], about: str) -> list[int]:
    """Return the places of the evidence that is meant: an event's, or that with such words."""
    word = about.strip().lower()
    places = [
        place
        for place, each in enumerate(moved)
        if (word == str(each.event) if word.isdecimal() else word in each.evidence.lower())
    ]
    if not places:
        raise MisuseError(f"there is no evidence '{about}'; give the number of an event, or words")
    telling = [place for place in places if abs(moved[place].nats) > _NOTHING]
    return telling or places


def _standing(nats: float) -> Standing:
    return Standing(nats, nats * DECIBANS, 1.0 / (1.0 + math.exp(-nats)))


def _how_shared(orders: int) -> str:
    which = f"{orders} orders, every one with its reverse" if orders else "all orders"
    return (
        f"each part is the mean, over {which}, of what the evidence adds to that before it: it "
        "does not matter which came first. What readings that deviate together, or checks of one "
        "function, have in common counts with the first of them. The parts add up exactly."
    )


def _said(moved: Iterable[Moved]) -> Iterator[str]:
    """Say what raised and what lowered a suspect most."""
    by_size = sorted(moved, key=lambda each: each.nats)
    for most in by_size[-1:]:
        if most.factor >= FELT:
            yield f"raised most by: {most.evidence}, odds {say_times(most.factor)} higher"
    for most in by_size[:1]:
        if most.factor <= 1.0 / FELT:
            yield f"lowered most by: {most.evidence}, odds {say_times(1.0 / most.factor)} lower"
