"""The everyday planner: looks ahead as far as a budget of expansions allows.

The value of a state is at first that of the best plan without questions; it falls as the state
is looked into. Every value is that of a policy that can be carried out, hence an upper bound on
the optimum, and more budget never makes it worse. The budget is counted, not timed, so that the
same question always gets the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from nextprobe.belief import Branch
from nextprobe.errors import MisuseError
from nextprobe.planning.explain import recommendation
from nextprobe.planning.first_look import Prospect, first_look
from nextprobe.planning.option import Option
from nextprobe.planning.plans import Plan, best_plan, option_of
from nextprobe.planning.problem import Problem
from nextprobe.planning.recommendation import Recommendation

S = TypeVar("S")

_FEW = 8
_WIDTH_BELOW = 2


@dataclass
class Budget:
    """Expansions that are left: one for each option valued below the first level."""

    left: int
    spent: int = 0

    def take(self, wanted: int) -> int:
        """Return how many of the wanted expansions may be made, and count them."""
        granted = min(wanted, self.left)
        self.left -= granted
        self.spent += granted
        return granted


@dataclass
class Node(Generic[S]):
    """A state that is being looked into.

    Parameters
    ----------
    state : S
        The state.
    plan : Plan
        Its best plan without questions.
    prospects : list of Prospect
        Options valued so far.
    children : dict of str to list of (Branch, Node or None)
        By option id, for options that have been looked into.
    optimism : float
        How much dearer than its table says the first step of the plan has proved, here or where
        the plan came from [currency].
    """

    state: S
    plan: Plan
    prospects: list[Prospect[S]] = field(default_factory=list)
    children: dict[str, list[tuple[Branch[S], Node[S] | None]]] = field(default_factory=dict)
    optimism: float = 0.0

    @property
    def value(self) -> float:
        """Least expected cost found [currency].

        Once the first step of the plan has been looked into, the plan itself no longer counts:
        the closer look may have found it dearer than its table says.
        """
        found = [prospect.cost for prospect in self.prospects]
        if self.plan.order and self.first is not None:
            return min(found)
        return min([self.plan.value + self.optimism, *found])

    @property
    def first(self) -> Prospect[S] | None:
        """The prospect of the plan's first step, if it has been looked into."""
        names = {option_of(name) for name in self.plan.order[:1]}
        return next((item for item in self.prospects if item.option.id in names), None)

    @property
    def ranked(self) -> list[Prospect[S]]:
        """Prospects, cheapest first."""
        return sorted(self.prospects, key=lambda prospect: prospect.order)


def recommend(
    problem: Problem[S],
    state: S,
    budget: int = 200,
    depth: int = 2,
    near: float = 0.01,
) -> Recommendation:
    """Return what to do next.

    Parameters
    ----------
    problem : Problem
        May also be :class:`~nextprobe.planning.problem.Batched`.
    state : S
        Where we are.
    budget : int
        How many options may be valued below the first level.
    depth : int
        How many options deep to look before plans take over, at least 1.
    near : float
        Options within this share of the best cost count as a near tie, which the first step of
        the best plan wins.

    Raises
    ------
    MisuseError
        If the state offers no option, or depth or budget are out of range.
    """
    if depth < 1 or budget < 0:
        raise MisuseError("a look-ahead is at least one option deep and its budget not negative")
    options = problem.options(state)
    if not options:
        raise MisuseError("a state offers no option, not even to give up")
    root = Node(state, best_plan(problem.plan_table(state)))
    _look(problem, root, options)
    purse = Budget(budget)
    for level in range(2, depth + 1):
        _deepen(problem, root, level, len(options), purse)
    ranked = _decisive(root, near)
    best = ranked[0]
    _children(problem, root, best.option)
    return recommendation(
        ranked,
        root.plan,
        [
            (branch, None if child is None else (child.plan, child.ranked))
            for branch, child in root.children[best.option.id]
        ],
        lower_bound=problem.lower_bound(state),
        near=near,
        expansions=purse.spent,
    )


def _decisive(node: Node[S], near: float) -> list[Prospect[S]]:
    """Return the prospects, cheapest first, with the plan's own step before near equals.

    Of two steps that are about as good, the one that gets on with the job is better than the
    one that asks once more.
    """
    ranked = node.ranked
    first = node.first
    if first is None or first.cost - ranked[0].cost > near * abs(ranked[0].cost):
        return ranked
    return [first, *(item for item in ranked if item is not first)]


def _look(problem: Problem[S], node: Node[S], options: Sequence[Option]) -> None:
    """Value options of a node, and correct for a plan that its table made too cheap.

    A table may leave out what a closer look at the plan's first step sees. Every option that
    merely leads to the same plans is dearer by as much: without this, asking one more idle
    question would always seem better than taking the step that the plan puts off.
    """
    node.prospects = first_look(problem, node.state, options, node.plan.order)
    if node.first is not None:
        node.optimism = max(0.0, node.first.cost - node.plan.value)
    for prospect in node.prospects:
        if prospect is not node.first:
            prospect.cost += prospect.deferred * node.optimism


def _deepen(problem: Problem[S], node: Node[S], level: int, width: int, purse: Budget) -> None:
    """Look into the children of the most promising options, best first.

    After each option the ranking is renewed; each is looked into once per level, and only
    while the best that could follow would still make it the cheapest.
    """
    for _ in range(width):
        waiting = [item for item in node.ranked if item.looked_into < level]
        hopeful = [item for item in waiting if item.promise < node.value]
        if not hopeful or not purse.left:
            return
        prospect = hopeful[0]
        prospect.looked_into = level
        before = node.ranked
        cost = prospect.price
        for branch, child in _children(problem, node, prospect.option):
            cost += branch.probability * branch.cost
            if child is not None:
                _improve(problem, child, before, level - 1, purse)
                cost += branch.probability * child.value
        prospect.cost = min(prospect.cost, cost)


def _improve(
    problem: Problem[S], child: Node[S], parents: list[Prospect[S]], level: int, purse: Budget
) -> None:
    """Value a few options of a child, then go deeper."""
    if not child.prospects:
        few = _few(problem, child, parents)
        few = few[: purse.take(len(few))]
        _look(problem, child, few)
    if level > 1:
        _deepen(problem, child, level, _WIDTH_BELOW, purse)


def _few(problem: Problem[S], child: Node[S], parents: list[Prospect[S]]) -> list[Option]:
    """Return the options of a child to value: new ones, its plan's next, the parent's best."""
    rank = {prospect.option.id: place for place, prospect in enumerate(parents)}
    options = list(problem.options(child.state))
    following = tuple(option_of(name) for name in child.plan.order[:1])

    def promise(option: Option) -> tuple[int, int]:
        if option.id in following:
            return 0, 0
        return (1, 0) if option.id not in rank else (2, rank[option.id])

    return sorted(options, key=promise)[:_FEW]


def _children(
    problem: Problem[S], node: Node[S], option: Option
) -> list[tuple[Branch[S], Node[S] | None]]:
    if option.id not in node.children:
        node.children[option.id] = [
            (branch, _child(problem, node, branch))
            for branch in problem.outcomes(node.state, option)
        ]
    return node.children[option.id]


def _child(problem: Problem[S], node: Node[S], branch: Branch[S]) -> Node[S] | None:
    if branch.state is None:
        return None
    plan = best_plan(problem.plan_table(branch.state), (node.plan.order,))
    starts = [option_of(order[0]) if order else "" for order in (plan.order, node.plan.order)]
    return Node(branch.state, plan, optimism=node.optimism if starts[0] == starts[1] else 0.0)
