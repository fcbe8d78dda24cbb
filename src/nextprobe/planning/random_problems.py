"""Random troubleshooting problems, small enough for the optimum, that others can make again.

They have what makes troubleshooting hard: repairs that overlap and sometimes fail, questions
with wrong answers, work that needs the device open or the board out, repairs that come back,
and giving up at a price that depends on the cause.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from nextprobe.errors import MisuseError
from nextprobe.planning.plan_table import FloatArray
from nextprobe.planning.plans import p_over_c_plan
from nextprobe.planning.tabular import TabularProblem, TabularState

_MARKED_FROM = 0.2


@dataclass(frozen=True)
class Size:
    """How large a random problem is.

    Parameters
    ----------
    causes, repairs, questions : int
        Counts, each at least 1.
    """

    causes: int = 8
    repairs: int = 6
    questions: int = 5


def random_problem(seed: int, size: Size | None = None) -> TabularProblem:
    """Return a random problem; the same seed and size always give the same one.

    Drawn from ``numpy.random.default_rng(seed)`` in this order, U(a, b) being uniform:

    1. Priors of the causes: Dirichlet, all parameters 2.
    2. Price of opening the device: U(3, 15); of taking the board out as well: U(5, 25) more.
    3. For each repair: one, two or three causes (as many as there are at most), drawn without
       repeats; then for each of them the chance of success from U(.7, 1); then for each of them
       a penalty from U(2, 20), which falls due if the repair ends the job.
    4. For all repairs: which of them have penalties at all, each with a chance of .4; prices
       from U(10, 80); levels (closed .3, open .4, board out .3).
    5. For each question: for each cause a number from U(0, 1), below .5 putting it into the set
       that is asked for; then for each cause the chance of a wrong answer from U(0, .15).
    6. For all questions: prices from U(1, 8); levels (closed .4, open .4, board out .2).
    7. For each cause the price of giving up from U(100, 300).

    Parameters
    ----------
    seed : int
        Of the generator, not negative.
    size : Size or None
        How large; that of ``Size()`` if left out.

    Raises
    ------
    MisuseError
        If there is not at least one of everything.
    """
    size = size or Size()
    if min(size.causes, size.repairs, size.questions) < 1:
        raise MisuseError("a random problem has at least one cause, repair and question")
    random = np.random.default_rng(seed)
    priors = random.dirichlet(np.full(size.causes, 2.0))
    level_prices = np.cumsum([0.0, random.uniform(3.0, 15.0), random.uniform(5.0, 25.0)])
    pairs = [_repair(random, size.causes) for _ in range(size.repairs)]
    penalised = random.random(size.repairs) < 0.4
    repair_prices = random.uniform(10.0, 80.0, size.repairs)
    repair_levels = random.choice(3, size.repairs, p=[0.3, 0.4, 0.3])
    likelihoods = [_question(random, size.causes) for _ in range(size.questions)]
    test_prices = random.uniform(1.0, 8.0, size.questions)
    test_levels = random.choice(3, size.questions, p=[0.4, 0.4, 0.2])
    return TabularProblem(
        priors=priors,
        stop_prices=random.uniform(100.0, 300.0, size.causes),
        repair_prices=repair_prices,
        cures=np.array([cures for cures, _ in pairs]),
        test_prices=test_prices,
        likelihoods=likelihoods,
        penalties=np.array([penalties for _, penalties in pairs]) * penalised[:, None],
        repair_levels=repair_levels,
        test_levels=test_levels,
        level_prices=level_prices,
    )


def p_over_c_excess(problem: TabularProblem, optimal_cost: float) -> float:
    """Return by what share the p/c order, stopped where that is best, exceeds the optimum."""
    return p_over_c_plan(problem.plan_table(TabularState())).value / optimal_cost - 1.0


def is_marked(problem: TabularProblem, optimal_cost: float) -> bool:
    """Tell whether a problem belongs to the marked ones: the p/c order loses at least 20 %."""
    return p_over_c_excess(problem, optimal_cost) >= _MARKED_FROM


def _repair(random: Generator, causes: int) -> tuple[FloatArray, FloatArray]:
    """Return the chance of success and the penalty by cause."""
    helped = random.choice(causes, min(int(random.integers(1, 4)), causes), replace=False)
    cures, penalties = np.zeros(causes), np.zeros(causes)
    cures[helped] = random.uniform(0.7, 1.0, helped.size)
    penalties[helped] = random.uniform(2.0, 20.0, helped.size)
    return cures, penalties


def _question(random: Generator, causes: int) -> FloatArray:
    """Return the chance of yes and no by cause."""
    inside = random.random(causes) < 0.5
    wrong = random.uniform(0.0, 0.15, causes)
    yes = np.where(inside, 1.0 - wrong, wrong)
    return np.stack((yes, 1.0 - yes))
