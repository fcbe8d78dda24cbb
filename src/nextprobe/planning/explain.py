"""Makes a recommendation, with its reasons, out of what the look-ahead found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from nextprobe.belief import Branch
from nextprobe.planning.first_look import Prospect
from nextprobe.planning.plans import Plan
from nextprobe.planning.recommendation import Forecast, Ranked, Reason, Recommendation

S = TypeVar("S")
Outlook = tuple[Branch[S], "tuple[Plan, Sequence[Prospect[S]]] | None"]

STOP = "stop"


def recommendation(
    ranked: Sequence[Prospect[S]],
    plan: Plan,
    outlook: Sequence[Outlook[S]],
    *,
    lower_bound: float,
    near: float,
    expansions: int,
) -> Recommendation:
    """Return the first of the ranked prospects as a recommendation.

    Parameters
    ----------
    ranked : sequence of Prospect
        At least one, cheapest first.
    plan : Plan
        The best plan without questions from here.
    outlook : sequence of (Branch, (Plan, prospects) or None)
        Outcomes of the first prospect with what was found there; None where the job ends.
    lower_bound : float
        Of the state [currency].
    near : float
        Share of the cost within which two options count as equal.
    expansions : int
        How many were spent.
    """
    best = ranked[0]
    near_tie = len(ranked) > 1 and abs(ranked[1].cost - best.cost) <= near * abs(best.cost)
    forecasts = tuple(_forecast(branch, found) for branch, found in outlook)
    return Recommendation(
        option=best.option,
        cost=best.cost,
        lower_bound=lower_bound,
        branches=forecasts,
        reasons=tuple(_reasons(ranked, plan, lower_bound, outlook, near_tie)),
        alternatives=tuple(Ranked(item.option, item.cost, item.price) for item in ranked),
        near_tie=near_tie,
        expansions=expansions,
    )


def _forecast(branch: Branch[S], found: tuple[Plan, Sequence[Prospect[S]]] | None) -> Forecast:
    if found is None:
        return Forecast(branch.label, branch.probability, "", branch.cost)
    plan, prospects = found
    if prospects and prospects[0].cost < plan.value:
        best = prospects[0]
        return Forecast(branch.label, branch.probability, best.option.id, branch.cost + best.cost)
    then = plan.order[0] if plan.order else STOP
    return Forecast(branch.label, branch.probability, then, branch.cost + plan.value, plan.order)


def _reasons(
    ranked: Sequence[Prospect[S]],
    plan: Plan,
    lower_bound: float,
    outlook: Sequence[Outlook[S]],
    near_tie: bool,
) -> list[Reason]:
    best = ranked[0]
    ends = sum(branch.probability for branch, found in outlook if found is None)
    reasons = [
        Reason("price", f"costs {best.price:.2f} by itself", {"price": best.price}),
        _against_plan(best, plan),
        Reason(
            "bounds",
            f"the whole job should cost {best.cost:.2f}; "
            f"knowing the cause it would cost {lower_bound:.2f}",
            {"upper": best.cost, "lower": lower_bound},
        ),
    ]
    if ends > 0.0:
        text = f"ends the job with a probability of {ends:.0%}"
        reasons.insert(1, Reason("ends", text, {"probability": ends}))
    if len(ranked) > 1:
        reasons.append(_against_runner_up(best, ranked[1], near_tie))
    return reasons


def _against_plan(best: Prospect[S], plan: Plan) -> Reason:
    saved = plan.value - best.cost
    start = plan.order[0] if plan.order else STOP
    numbers = {"plan": plan.value, "saved": saved}
    if saved > 1e-9 * abs(plan.value):
        text = f"saves {saved:.2f} over the best fixed order, which starts with {start}"
        return Reason("saves", text, numbers, start)
    text = "no question was found to be worth its price before it"
    return Reason("plan", text, numbers, start)


def _against_runner_up(best: Prospect[S], second: Prospect[S], near_tie: bool) -> Reason:
    margin = second.cost - best.cost
    numbers = {"cost": second.cost, "margin": margin}
    if near_tie:
        text = f"{second.option.title} would be about as good"
        return Reason("near tie", text, numbers, second.option.id)
    text = f"{second.option.title} would cost {margin:.2f} more"
    return Reason("runner-up", text, numbers, second.option.id)
