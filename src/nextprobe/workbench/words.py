"""Suspects with their numbers in words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from nextprobe.diagnosis import Suspect
from nextprobe.workbench.phrases import say_factor, say_probability

DECIBANS = 10.0 / math.log(10.0)
"""Decibans in a nat: ten times the decimal logarithm of odds (Good 1950, ch. 6)."""


@dataclass(frozen=True)
class Moved:
    """What a piece of evidence, or of the story, did to a suspect.

    Parameters
    ----------
    evidence : str
        What was done and seen.
    nats : float
        Its share of the change of the log odds.
    factor : float
        By which its odds grew or, below 1, fell.
    words : str
        The same in words.
    kind : str
        ``story``, ``reading``, ``known-good reading``, ``look``, ``supply current``, ``complaint``,
        ``works`` or ``fails`` (another function), ``trial``, ``refresh`` or ``work``.
    event : int
        Number in the log; 1, the start, for the story.
    decibans : float
        The same as `nats`.
    error : float
        Standard error, where not all orders were taken [nats].
    note : str
        Why it says nothing of its own, where it does not.
    """

    evidence: str
    nats: float
    factor: float
    words: str
    kind: str = ""
    event: int = 0
    decibans: float = 0.0
    error: float = 0.0
    note: str = ""


@dataclass(frozen=True)
class SuspectRecord:
    """A suspect, with what moved it.

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
    words : str
        The probability in words.
    moved : tuple of Moved
        What moved it, in the order of the job; the parts add up to the change of log odds since
        the device came in.
    """

    key: str
    title: str
    cause: str
    probability: float
    remaining: float
    prior: float
    words: str
    moved: tuple[Moved, ...] = ()


def suspect_record(suspect: Suspect, moved: tuple[Moved, ...] = ()) -> SuspectRecord:
    """Return a suspect with its numbers in words."""
    return SuspectRecord(
        suspect.key,
        suspect.title,
        suspect.cause,
        suspect.probability,
        suspect.remaining,
        suspect.prior,
        say_probability(suspect.probability),
        moved,
    )


def factor_of(nats: float) -> float:
    """Return by what odds are multiplied; kept within what a number can hold."""
    return math.exp(max(-300.0, min(300.0, nats)))


def moved_by(evidence: str, nats: float, kind: str, event: int, **more: Any) -> Moved:
    """Return what something did, with its numbers in words; `more` are other fields."""
    factor = factor_of(nats)
    words = say_factor(factor)
    return Moved(evidence, nats, factor, words, kind, event, nats * DECIBANS, **more)
