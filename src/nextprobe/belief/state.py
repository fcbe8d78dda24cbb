"""The one thing planning needs to know about a belief: where an action may lead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

S = TypeVar("S")
A = TypeVar("A")


@dataclass(frozen=True)
class Branch(Generic[S]):
    """One outcome of an action.

    Parameters
    ----------
    label : str
        What is seen; unique among the branches of an action.
    probability : float
        Of this outcome before the action is taken.
    state : S or None
        What is believed and known afterwards; None if the job has ended.
    cost : float
        Expected extra cost that falls due with this outcome, over the price of the
        action [currency]: a comeback, a part that has to be paid.
    """

    label: str
    probability: float
    state: S | None
    cost: float = 0.0


class BeliefState(Protocol[A]):
    """A belief that can say where an action may lead."""

    def outcomes(self, action: A) -> Sequence[Branch[BeliefState[A]]]:
        """Return the possible outcomes, whose probabilities sum to one."""
        ...
