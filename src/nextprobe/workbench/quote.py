"""What a job has come to, and what it may still cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.options import TERMINAL
from nextprobe.planning import Recommendation
from nextprobe.planning.plans import best_plan, prefix_costs
from nextprobe.workbench.step_titles import step_title

_QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class WayOut:
    """A way to end the job now.

    Parameters
    ----------
    step, title : str
    price : float
        What it would cost, expected harm included [currency of the pack].
    """

    step: str
    title: str
    price: float


@dataclass(frozen=True)
class Quote:
    """What a job has come to, and what it may still cost.

    What is still to come is the cost to the shop: time, parts, and harm by its chance, as in the
    pack; by the plan that is best without further questions, so that asking saves something.

    Parameters
    ----------
    currency : str
    ceiling : float or None
        The most that may be charged [currency].
    spent : float
        What time and parts have come to so far [currency].
    to_come : float
        Expected cost from here on, with the steps that are recommended [currency].
    least : float
        The same if the cause were known at once: no way of working does better [currency].
    low, middle, high : float
        A tenth, a half and nine tenths of jobs like this one cost less from here on [currency].
    within_ceiling : float or None
        Chance that what is spent and what is to come stay below the ceiling; None without one.
    ways_out : tuple of WayOut
    """

    currency: str
    ceiling: float | None
    spent: float
    to_come: float
    least: float
    low: float
    middle: float
    high: float
    within_ceiling: float | None
    ways_out: tuple[WayOut, ...]


def quote(case: Case, advice: Recommendation) -> Quote:
    """Return what a job has come to, and what it may still cost.

    Parameters
    ----------
    case : Case
    advice : Recommendation
        For that case.
    """
    table = case.problem.plan_table(case.situation)
    costs = prefix_costs(best_plan(table).order, table)[-1]
    weights = table.grouped.sums(table.weights[None, :])[0]
    low, middle, high = _quantiles(costs, weights / weights.sum())
    ceiling, spent = case.model.limits.ceiling, case.situation.spent
    within = None
    if ceiling is not None:
        within = float(weights[costs + spent <= ceiling].sum() / weights.sum())
    return Quote(
        case.brief.pack.costs.currency,
        ceiling,
        spent,
        advice.cost,
        advice.lower_bound,
        low,
        middle,
        high,
        within,
        tuple(
            WayOut(ranked.option.id, step_title(case, ranked.option.id), ranked.price)
            for ranked in advice.alternatives
            if ranked.option.id in TERMINAL
        ),
    )


def _quantiles(costs: np.ndarray, chances: np.ndarray) -> tuple[float, ...]:
    order = np.argsort(costs, kind="stable")
    below = np.cumsum(chances[order])
    places = np.minimum(np.searchsorted(below, _QUANTILES), len(order) - 1)
    return tuple(costs[order][places].tolist())
