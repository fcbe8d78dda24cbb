"""Why a step: what it costs, what its outcomes would mean, and against what it was weighed."""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.diagnosis import Case, Probe
from nextprobe.diagnosis.costs import charged
from nextprobe.diagnosis.options import TERMINAL, UNPAIR, WIPE
from nextprobe.planning import Cost, Option, Reason, Recommendation
from nextprobe.workbench.grounds import grounds
from nextprobe.workbench.meanings import Meaning, meanings, never_told_apart, prospects
from nextprobe.workbench.reasons import worded
from nextprobe.workbench.remarks import Remark, before_the_trial
from nextprobe.workbench.step_titles import step_title
from nextprobe.workbench.steps import acts_of_step


@dataclass(frozen=True)
class Explanation:
    """Why a step is, or is not, what to do next.

    Parameters
    ----------
    step, title : str
    recommended, offered : bool
    price : float
        Of the step alone [currency of the pack].
    attended_minutes, elapsed_minutes : float
        [min]
    parts, harms : float
        What goes into the price besides time [currency of the pack].
    against : tuple of Reason
        How it compares with the rest.
    meanings : tuple of Meaning
        What each outcome would mean, likeliest first.
    never_told_apart : tuple of tuple of str
        Groups of suspects that no outcome of this step can tell apart.
    remarks : tuple of Remark
        What else to know before taking it.
    cautions : tuple of str
    """

    step: str
    title: str
    recommended: bool
    offered: bool
    price: float
    attended_minutes: float
    elapsed_minutes: float
    parts: float
    harms: float
    against: tuple[Reason, ...]
    meanings: tuple[Meaning, ...]
    never_told_apart: tuple[tuple[str, ...], ...]
    remarks: tuple[Remark, ...]
    cautions: tuple[str, ...]


def explain(case: Case, advice: Recommendation, step: str) -> Explanation:
    """Return why a step is, or is not, what to do next.

    Parameters
    ----------
    case : Case
    advice : Recommendation
        For that case.
    step : str
        A known id, offered or not.
    """
    offered = {ranked.option.id: ranked.option for ranked in advice.alternatives}
    option = offered.get(step) or Option(step, step_title(case, step))
    cost = case.problem.cost(case.situation, option)
    branches = () if step in TERMINAL or _is_new_point(case, step) else case.problem.outcomes(
        case.situation, option
    )  # fmt: skip
    found = prospects(case, branches)
    acts = acts_of_step(case, step)
    return Explanation(
        step,
        option.title,
        step == advice.option.id,
        step in offered,
        case.problem.price(case.situation, option),
        cost.attended / 60.0,
        cost.elapsed / 60.0,
        cost.parts,
        cost.harms,
        _against(case, advice, option, cost),
        meanings(found),
        never_told_apart(found) if branches else (),
        (*before_the_trial(case, acts, found), *grounds(case, acts)),
        option.cautions,
    )


def _is_new_point(case: Case, step: str) -> bool:
    """Tell whether a step is a reading at a point for which nothing is predicted."""
    probing, expectations = case.problem.probing, case.model.expectations
    if not step.startswith("probe:") or step in probing.touches:
        return False
    item = probing.measured(step)
    return expectations is None or not expectations.predicts(item.point, item.setup)


def _against(case: Case, advice: Recommendation, option: Option, cost: Cost) -> tuple[Reason, ...]:
    if option.id == advice.option.id:
        return worded(case, advice.reasons, option.id)
    for rank, ranked in enumerate(advice.alternatives):
        if ranked.option.id == option.id:
            more = ranked.cost - advice.cost
            currency = case.brief.pack.costs.currency
            text = (
                f"number {rank + 1} of {len(advice.alternatives)}: the whole job would cost "
                f"{more:z.2f} {currency} more than with '{advice.option.title}'"
            )
            return (Reason("rank", text, {"rank": rank + 1, "margin": more}),)
    return (Reason("not offered", _why_not(case, option, cost)),)


def _why_not(case: Case, option: Option, cost: Cost) -> str:
    limits = case.model.limits
    kind, _, rest = option.id.partition(":")
    refresh = case.model.pack.refreshes.get(rest) if kind == "refresh" else None
    if refresh is not None and not refresh.keeps_data and WIPE in limits.forbidden:
        return "not offered: it wipes data, which was not agreed"
    if kind == "trial" and UNPAIR in limits.forbidden and _unpairs(case, rest):
        return "not offered: a paired part would be lost for good, which was not agreed"
    bill = case.situation.spent + charged(case.model, cost)
    if limits.ceiling is not None and bill > limits.ceiling:
        currency = case.brief.pack.costs.currency
        return (
            f"not offered: the bill of {bill:.2f} {currency} would pass the ceiling of "
            f"{limits.ceiling:.2f} {currency}"
        )
    acts = acts_of_step(case, option.id)
    if any(isinstance(act, Probe) for act in acts):
        return "not offered: other points tell more"
    return "not offered: it would tell or cure nothing that matters now"


def _unpairs(case: Case, rest: str) -> bool:
    slot = rest.rpartition(":")[0]
    modules = {name.replace(" ", "-"): module for name, module in case.model.pack.modules.items()}
    return slot in modules and any(p.grade == "lost for good" for p in modules[slot].pairing)
