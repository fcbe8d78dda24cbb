"""The optimum of small problems, between two bounds that close.

How it is found is told in :mod:`nextprobe.planning.bounded_search`.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import TypeVar

from nextprobe.errors import MisuseError
from nextprobe.planning.bounded_search import Search
from nextprobe.planning.keys import key_of
from nextprobe.planning.option import Option
from nextprobe.planning.policy import Policy
from nextprobe.planning.problem import Process

S = TypeVar("S")


@dataclass(frozen=True)
class Optimum:
    """What is known of the best that any policy can do.

    Parameters
    ----------
    lower, upper : float
        The optimal expected cost lies between them [currency].
    closed : bool
        Whether they are within the tolerance of each other.
    policy : Policy
        What to do: it costs `upper` or less, and is the optimal one if the bounds are closed.
    states : int
        How many states were looked into.
    """

    lower: float
    upper: float
    closed: bool
    policy: Policy
    states: int

    @property
    def cost(self) -> float:
        """The optimal expected cost [currency].

        Raises
        ------
        MisuseError
            If it is not known, because the bounds are not closed.
        """
        if not self.closed:
            raise MisuseError(
                f"the optimum is not known, only that it lies in {self.lower:g} to {self.upper:g}: "
                "allow more expansions"
            )
        return self.upper

    @property
    def option(self) -> Option | None:
        """What the policy does first; None if not even that is known."""
        return self.policy.steps[0].option


def optimum(
    problem: Process[S],
    state: S,
    key: Callable[[S], Hashable] | None = None,
    *,
    discount: float = 1.0,
    tolerance: float = 1e-9,
    expansions: int = 100_000,
) -> Optimum:
    """Return the optimal expected cost and policy, or bounds on them.

    Parameters
    ----------
    problem : Process
        Its `lower_bound` decides how much is looked into; an `upper_bound`
        (:class:`~nextprobe.planning.problem.Bounded`) helps, and is needed where no course of
        the job ever ends: without one nothing is known from above.
    state : S
        Where to start.
    key : callable or None
        States with the same key have the same future. Left out, the problem's own `key`
        (:class:`~nextprobe.planning.problem.Keyed`) or else the state itself, which must be
        hashable.
    discount : float
        What a cost one option later counts, above 0, at most 1.
    tolerance : float
        How far apart closed bounds may be [currency].
    expansions : int
        How many states to look into at most, and how many walks to make.

    Returns
    -------
    Optimum
        With ``closed`` false where the limit did not suffice, or where states recur so that the
        bounds do not come together.

    Raises
    ------
    MisuseError
        If an argument is out of range or a state has no options.

    Examples
    --------
    Four causes and three repairs that overlap, each at the price of 1: Fig. 1 of Jensen,
    Kjærulff, Kristiansen, Langseth, Skaanning, Vomlel and Vomlelová (2001), "The SACSO
    methodology for troubleshooting complex systems", AI EDAM 15(4). To take the likeliest cure
    first costs 1.50, the best order 1.45.

    >>> import numpy as np
    >>> from nextprobe.planning import TabularProblem, TabularState, evaluate, optimum
    >>> sacso = TabularProblem(
    ...     priors=np.array([0.20, 0.25, 0.40, 0.15]),
    ...     stop_prices=np.full(4, 100.0),
    ...     repair_prices=np.ones(3),
    ...     cures=np.array([[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1.0]]),
    ... )
    >>> table = sacso.plan_table(TabularState())
    >>> f"{evaluate(['repair 1', 'repair 0', 'repair 2'], table):.2f}"
    '1.50'
    >>> best = optimum(sacso, TabularState())
    >>> print(best.policy.text())
    repair 2 (1.45)
      ended (55%): the end
      not ended (45%):
        repair 0 (1.00)
          ended (100%): the end

    To tell five causes apart by yes-no questions is to build a code: the least expected number
    of questions is the length of Huffman's code (Huffman 1952, "A method for the construction
    of minimum-redundancy codes", Proceedings of the IRE 40(9)), here 2.2.

    >>> splits = [[(number >> cause) & 1 for cause in range(5)] for number in range(1, 16)]
    >>> code = TabularProblem(
    ...     priors=np.array([0.4, 0.2, 0.2, 0.1, 0.1]),
    ...     stop_prices=1000.0 * (1.0 - np.eye(5)),  # to name the wrong cause
    ...     test_prices=np.ones(15),
    ...     likelihoods=[np.array([split, 1.0 - np.array(split)]) for split in splits],
    ... )
    >>> f"{optimum(code, TabularState()).cost:.2f}"
    '2.20'

    A series system is tested until the first failure; rising cost per chance of failing is
    optimal (Johnson 1956; Mitten 1960; from memory). A process of one's own needs four methods:

    >>> from nextprobe.belief import Branch
    >>> from nextprobe.planning import Option
    >>> COSTS, FAILS = [5.0, 3.0, 8.0, 2.0], [0.3, 0.1, 0.5, 0.05]
    >>> class Series:
    ...     def options(self, passed):
    ...         left = [part for part in range(4) if part not in passed]
    ...         return [Option(str(part), f"test {part}") for part in left] or [Option("", "stop")]
    ...     def price(self, passed, option):
    ...         return COSTS[int(option.id)] if option.id else 0.0
    ...     def outcomes(self, passed, option):
    ...         if not option.id:
    ...             return []
    ...         fails = FAILS[int(option.id)]
    ...         on = passed | {int(option.id)}
    ...         return [Branch("fails", fails, None), Branch("passes", 1.0 - fails, on)]
    ...     def lower_bound(self, passed):
    ...         return 0.0
    >>> series = optimum(Series(), frozenset())
    >>> f"{series.cost:.2f}", [step.option.title for step in series.policy.steps]
    ('12.18', ['test 2', 'test 0', 'test 1', 'test 3', 'stop'])

    Too few expansions give bounds, not a wrong value:

    >>> cut_short = optimum(code, TabularState(), expansions=3)
    >>> cut_short.closed, cut_short.lower <= 2.2 <= cut_short.upper
    (False, True)
    """
    if not 0.0 < discount <= 1.0 or not tolerance > 0.0 or expansions < 1:
        raise MisuseError(
            "a discount is above 0 and at most 1, a tolerance above 0, and at least one state "
            "is looked into"
        )
    search = Search(problem, key or key_of(problem), discount, expansions)
    root = search.node(state)
    for _ in range(expansions):
        if root.gap <= tolerance or not (search.walk(root, tolerance) or search.sweep(root)):
            break
    return Optimum(
        root.lower,
        root.upper,
        root.gap <= tolerance,
        search.policy(root, tolerance),
        search.expanded,
    )
