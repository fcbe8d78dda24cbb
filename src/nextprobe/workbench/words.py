"""Suspects with their numbers in words."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nextprobe.belief import EvidenceWeight
from nextprobe.diagnosis import Suspect
from nextprobe.workbench.phrases import say_factor, say_probability


@dataclass(frozen=True)
class Moved:
    """What a piece of evidence did to a suspect.

    Parameters
    ----------
    evidence : str
        What was done and seen.
    nats : float
        Change of the log odds.
    factor : float
        By which its odds grew or, below 1, fell.
    words : str
        The same in words.
    """

    evidence: str
    nats: float
    factor: float
    words: str


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
        What moved it, in the order of the job.
    """

    key: str
    title: str
    cause: str
    probability: float
    remaining: float
    prior: float
    words: str
    moved: tuple[Moved, ...] = ()


def suspect_record(suspect: Suspect) -> SuspectRecord:
    """Return a suspect with its numbers in words."""
    return SuspectRecord(
        suspect.key,
        suspect.title,
        suspect.cause,
        suspect.probability,
        suspect.remaining,
        suspect.prior,
        say_probability(suspect.probability),
        tuple(_moved(weight) for weight in suspect.weights),
    )


def _moved(weight: EvidenceWeight) -> Moved:
    factor = math.exp(max(-300.0, min(300.0, weight.nats)))
    return Moved(weight.source, weight.nats, factor, say_factor(factor))
