"""Why a step comes first, in the words of the bench: titles for ids, amounts with their unit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from nextprobe.diagnosis import Case
from nextprobe.planning import Reason
from nextprobe.workbench.phrases import say_share
from nextprobe.workbench.step_titles import STOP, step_title

_ALIKE = 0.005
"""Amounts that differ by less are shown as the same [currency]."""


def worded(case: Case, reasons: Iterable[Reason], step: str) -> tuple[Reason, ...]:
    """Return the reasons for a step with their sentences written for people.

    Parameters
    ----------
    case : Case
    reasons : iterable of Reason
        As planning gives them.
    step : str
        Id of the step that they are about.
    """
    return tuple(replace(reason, text=_sentence(case, reason, step)) for reason in reasons)


def _sentence(case: Case, reason: Reason, step: str) -> str:
    currency = case.brief.pack.costs.currency
    numbers = {name: f"{value:z.2f} {currency}" for name, value in reason.numbers.items()}
    other = f"'{step_title(case, reason.step)}'"
    match reason.kind:
        case "price":
            return f"costs {numbers['price']} by itself"
        case "ends":
            return f"ends the job with a chance of {say_share(reason.numbers['probability'])}"
        case "bounds":
            return (
                f"the whole job should cost {numbers['upper']}; "
                f"with the cause known it would cost {numbers['lower']}"
            )
        case "saves" | "plan":
            return _against_plan(reason, other, numbers["saved"], step)
        case "near tie":
            return f"{other} would be about as good: take the one that suits the bench"
        case "runner-up":
            return f"with {other} first, the job would cost {numbers['margin']} more"
    return reason.text


def _against_plan(reason: Reason, other: str, saved: str, step: str) -> str:
    starts_alike = reason.step.partition("+")[0] == step
    if reason.numbers["saved"] >= _ALIKE:
        if starts_alike:
            return f"saves {saved} over any fixed order: what follows depends on what it shows"
        return f"saves {saved} over the best fixed order, which starts with {other}"
    if starts_alike:
        return "the best fixed order starts with it, and no question is worth its price before"
    if reason.step == STOP:
        return "no other step is worth its price first"
    return f"as good as the best fixed order, which starts with {other}"
