"""Numbers of the inference in words."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nextprobe.belief import EvidenceWeight
from nextprobe.diagnosis import Suspect

# Kass and Raftery 1995, Bayes Factors, J. Am. Stat. Assoc. 90, p. 777 (from memory): a factor up
# to 3 is not worth more than a bare mention, to 20 positive, to 150 strong, above very strong.
_GRADES = ((3.0, "a little"), (20.0, "clearly"), (150.0, "much"))
_NO_CHANGE = 1.05


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


def say_factor(factor: float) -> str:
    """Return a change of odds in words: ``clearly more likely``.

    Grades after Kass and Raftery 1995.
    """
    size = max(factor, 1.0 / factor) if factor > 0.0 else math.inf
    if size < _NO_CHANGE:
        return "about as likely as before"
    grade = next((word for limit, word in _GRADES if size <= limit), "very much")
    return f"{grade} {'more' if factor > 1.0 else 'less'} likely"


def say_probability(probability: float) -> str:
    """Return a probability in words."""
    steps = ((0.95, "almost certain"), (0.75, "very likely"), (0.5, "likely"), (0.2, "possible"),
             (0.05, "unlikely"))  # fmt: skip
    return next((word for limit, word in steps if probability >= limit), "very unlikely")


def say_share(probability: float) -> str:
    """Return a probability as people write it: ``42 %``, ``0.4 %``, ``below 0.1 %``."""
    percent = 100.0 * probability
    if percent >= 9.95:
        return f"{percent:.0f} %"
    return f"{percent:.1f} %" if percent >= 0.1 else "below 0.1 %"
