"""What a problem must tell the planner."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar, runtime_checkable

from nextprobe.belief import Branch
from nextprobe.planning.option import Option
from nextprobe.planning.plan_table import FloatArray, PlanTable

S = TypeVar("S")
S_contra = TypeVar("S_contra", contravariant=True)


class Process(Protocol[S]):
    """What can be done over states of type S, which no planner ever looks into.

    All money is in one currency; a reward is a negative cost. An option without outcomes ends
    the job: its price is then all that is still to be paid (giving up, handing over).
    """

    def options(self, state: S) -> Sequence[Option]:
        """Return what may be done now; options that cross a hard limit are not among it."""
        ...

    def price(self, state: S, option: Option) -> float:
        """Return the expected price of doing it, whatever the outcome [currency]."""
        ...

    def outcomes(self, state: S, option: Option) -> Sequence[Branch[S]]:
        """Return what may happen; the probabilities sum to one."""
        ...

    def lower_bound(self, state: S) -> float:
        """Return an expected cost that no policy beats, such as that of perfect information."""
        ...


class Problem(Process[S], Protocol[S]):
    """A process of which the everyday planner can make plans without questions."""

    def plan_table(self, state: S) -> PlanTable:
        """Return the steps that may end the job, with the weights of this state.

        Values are upper bounds whatever it leaves out. But where even its best step in each
        known world would not make an option the cheapest, the planner spends no look-ahead on
        that option: put in every way to end the job that matters.
        """
        ...


@runtime_checkable
class Keyed(Protocol[S_contra]):
    """An optional addition that says which states have the same future."""

    def key(self, state: S_contra) -> Hashable:
        """Return the same for two states only if all that can follow is the same."""
        ...


@runtime_checkable
class Bounded(Protocol[S_contra]):
    """An optional addition that spares the exact planner states that can not matter."""

    def upper_bound(self, state: S_contra) -> float:
        """Return the expected cost of some policy that can be carried out from here."""
        ...


@dataclass(frozen=True, eq=False)
class LeafBatch:
    """The outcomes of an option without the states, for speed.

    Parameters
    ----------
    probabilities : ndarray, shape (B,)
        Of the outcomes that do not end the job.
    weights : ndarray, shape (B, R)
        Weights of the worlds of `table` after each, of any positive scale.
    table : PlanTable
        Of the states after the option. Give the *same object* to every option that leads to
        the same table (options that only inform, above all): such batches are valued at one go.
    ending_cost : float
        Sum of probability times extra cost over all outcomes, ending or not [currency].
    """

    probabilities: FloatArray
    weights: FloatArray
    table: PlanTable
    ending_cost: float = 0.0


@runtime_checkable
class Batched(Protocol[S_contra]):
    """An optional addition to :class:`Problem` that spares the planner thousands of states."""

    def leaf_batch(self, state: S_contra, option: Option) -> LeafBatch | None:
        """Return the outcomes of an option as arrays, or None to have `outcomes` asked.

        It must agree with `outcomes` and `plan_table`.
        """
        ...
