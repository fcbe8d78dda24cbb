"""A search for the optimum between two bounds on every state that close.

Every state that has been reached has a lower and an upper bound on its optimal cost. A walk
starts where the job starts, takes in each state the option that could be the cheapest, and
follows the outcome that adds most to what is uncertain; then the bounds are renewed from its end
back to its start. An option whose lower bound is above another's upper bound is never taken, as in
AO* (Nilsson 1980, Principles of Artificial Intelligence). Two-sided bounds and the choice of
outcomes are those of heuristic search value iteration (Smith and Simmons 2004, UAI) and bounded
real-time dynamic programming (McMahan, Likhachev and Gordon 2005, ICML), with the most uncertain
outcome instead of a random one, so that nothing is drawn by chance. All cited from memory.

Both bounds keep their side under the Bellman equation whatever the order of renewals, so that
they hold at any moment, up to rounding, for problems that end as well as for discounted ones
whose states recur.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from nextprobe.belief import Branch
from nextprobe.errors import MisuseError
from nextprobe.planning.option import Option
from nextprobe.planning.policy import Next, Policy, PolicyStep
from nextprobe.planning.problem import Bounded, Process

S = TypeVar("S")


@dataclass(eq=False, slots=True)
class Way(Generic[S]):
    """An option with what is due at once and where it leads."""

    option: Option
    due: float
    outcomes: list[tuple[Branch[S], Node[S] | None]]
    leads: list[tuple[float, Node[S]]]


@dataclass(eq=False, slots=True)
class Node(Generic[S]):
    """A state with its bounds; its ways are empty until it is looked into."""

    state: S
    lower: float
    upper: float
    ways: Sequence[Way[S]] = ()

    @property
    def gap(self) -> float:
        """How much is not known [currency]."""
        return self.upper - self.lower


@dataclass(eq=False)
class Search(Generic[S]):
    """The states that have been reached.

    Parameters
    ----------
    problem : Process
        What is searched.
    key : callable
        States with the same key have the same future.
    discount : float
        What a cost one option later counts.
    limit : int
        How many states to look into at most.
    expanded : int
        How many have been looked into.
    """

    problem: Process[S]
    key: Callable[[S], Hashable]
    discount: float
    limit: int
    expanded: int = 0

    def __post_init__(self) -> None:
        self._nodes: dict[Hashable, Node[S]] = {}
        problem = self.problem
        self._upper_bound = problem.upper_bound if isinstance(problem, Bounded) else _unbounded

    def node(self, state: S) -> Node[S]:
        """Return the node of a state, with the bounds that the problem gives if it is new."""
        name = self.key(state)
        if name not in self._nodes:
            lower, upper = self.problem.lower_bound(state), self._upper_bound(state)
            self._nodes[name] = Node(state, lower, upper)
        return self._nodes[name]

    def walk(self, root: Node[S], tolerance: float) -> bool:
        """Follow what is most uncertain, renew the bounds; tell whether anything has changed."""
        path: list[Node[S]] = []
        visited: set[int] = set()
        node: Node[S] | None = root
        expanded, slack = self.expanded, tolerance
        while node is not None and node.gap > slack and id(node) not in visited:
            if not (node.ways or self.expand(node)):
                break
            visited.add(id(node))
            path.append(node)
            node = self._most_uncertain(node)
            slack /= self.discount
        changed = [self._renew(each) for each in reversed(path)]
        return self.expanded > expanded or any(changed)

    def sweep(self, root: Node[S]) -> bool:
        """Look into and renew all that could be the best course; tell whether anything has changed.

        Where states recur, a walk may come back to where it was without any news although
        another outcome is still open.
        """
        expanded, reached = self.expanded, {id(root)}
        order = [root]
        for node in order:  # grows while it is gone through
            if node.ways or self.expand(node):
                way = min(node.ways, key=self._lower)
                order += [child for _, child in way.leads if id(child) not in reached]
                reached.update(id(child) for _, child in way.leads)
        changed = [self._renew(node) for node in reversed(order) if node.ways]
        return self.expanded > expanded or any(changed)

    def expand(self, node: Node[S]) -> bool:
        """List where the options of a state lead, unless too many states have been listed."""
        if self.expanded >= self.limit:
            return False
        self.expanded += 1
        options = self.problem.options(node.state)
        if not options:
            raise MisuseError("a state offers no option, not even to give up")
        node.ways = [self._way(node.state, option) for option in options]
        self._renew(node)
        return True

    def policy(self, root: Node[S], tolerance: float) -> Policy:
        """Return the policy that the upper bounds come from."""
        places: dict[int, int] = {id(root): 0}
        order, steps = [root], list[PolicyStep]()
        for node in order:  # grows while it is gone through
            if not node.ways and node.gap <= tolerance:
                self.expand(node)
            if not node.ways:
                steps.append(PolicyStep(None, node.upper))
                continue
            way = min(node.ways, key=self._upper)
            following = []
            for branch, child in way.outcomes:
                if child is not None and id(child) not in places:
                    places[id(child)] = len(order)
                    order.append(child)
                place = None if child is None else places[id(child)]
                following.append(Next(branch.label, branch.probability, branch.cost, place))
            steps.append(PolicyStep(way.option, node.upper, tuple(following)))
        return Policy(tuple(steps))

    def _way(self, state: S, option: Option) -> Way[S]:
        branches = self.problem.outcomes(state, option)
        due = self.problem.price(state, option)
        due += sum(branch.probability * branch.cost for branch in branches)
        outcomes = [
            (branch, None if branch.state is None else self.node(branch.state))
            for branch in branches
        ]
        leads = [
            (self.discount * branch.probability, child)
            for branch, child in outcomes
            if child is not None and branch.probability > 0.0
        ]
        return Way(option, due, outcomes, leads)

    def _most_uncertain(self, node: Node[S]) -> Node[S] | None:
        way = min(node.ways, key=self._lower)
        if not way.leads:
            return None
        return max(way.leads, key=lambda lead: lead[0] * lead[1].gap)[1]

    def _renew(self, node: Node[S]) -> bool:
        lower = max(node.lower, min(map(self._lower, node.ways)))
        upper = min(node.upper, *map(self._upper, node.ways))
        changed = (lower, upper) != (node.lower, node.upper)
        node.lower, node.upper = lower, upper
        return changed

    @staticmethod
    def _lower(way: Way[S]) -> float:
        value = way.due
        for chance, child in way.leads:
            value += chance * child.lower
        return value

    @staticmethod
    def _upper(way: Way[S]) -> float:
        value = way.due
        for chance, child in way.leads:
            value += chance * child.upper
        return value


def _unbounded(_: object) -> float:
    return math.inf
