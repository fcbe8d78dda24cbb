"""Ways to choose the next step, all played by the same rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from nextprobe.diagnosis.acts import DONOR, ORIGINAL
from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.options import CLOSE, ESCALATE, VERIFY
from nextprobe.planning import Option, best_plan, option_of


class Strategy(Protocol):
    """Chooses an option id for a case."""

    name: str

    def choose(self, case: Case) -> str:
        """Return the id of the option to take next."""
        ...


class Advised:
    """Follow the recommendation.

    Parameters
    ----------
    budget : int
        Look-aheads a step.
    """

    name = "nextprobe"

    def __init__(self, budget: int = 30) -> None:
        self.budget = budget
        self._known: dict[tuple[object, ...], str] = {}

    def choose(self, case: Case) -> str:
        """Return the recommended option; jobs that began alike need not be thought over twice."""
        key = (case.brief.complaint, case.brief.history, case.brief.pack.device.name, case.moves)
        if key not in self._known:
            self._known[key] = case.recommend(self.budget).option.id
        return self._known[key]


class PerfectKnowledge:
    """Know the fault, and take the cheapest steps that end the job; nobody beats it.

    Parameters
    ----------
    family : str
        Name of the true fault without its magnitude.
    """

    name = "perfect knowledge"

    def __init__(self, family: str) -> None:
        self.family = family

    def choose(self, case: Case) -> str:
        """Return the first step of the best plan for the fault that is really there."""
        plan = best_plan(case.problem.plan_if(case.situation, self.family))
        steps = [option_of(name) for name in plan.order if not name.startswith("run:")]
        if steps:
            return steps[0]
        open_now = {option.id: option for option in case.problem.options(case.situation)}
        if case.situation.working:
            return _finishing(open_now)
        return ESCALATE


class FixedOrder:
    """The trade's order, played well.

    Look, reseat, clean, self-test and logs; swap; probe the connector and follow a surprise;
    refresh with the good module fitted; then the likeliest repairs. What works is handed over
    as it is. Common practice, no published source.
    """

    name = "fixed order"

    def choose(self, case: Case) -> str:
        """Return the first step of the order that is still open."""
        open_now = {option.id: option for option in case.problem.options(case.situation)}
        if case.situation.working:
            return _finishing(open_now)
        order = self._order(case, open_now)
        again = [wanted for wanted in order if f"{wanted}:once" in case.situation.tried]
        for wanted in [*(first for first in order if first not in again), *again]:
            if wanted in open_now:
                return wanted
        return ESCALATE

    def _order(self, case: Case, open_now: dict[str, Option]) -> list[str]:
        seat = [f"work:reseat:{seat}" for seat in case.model.seats]
        clean = [f"work:clean:{seat}" for seat in case.model.seats]
        eye = [o for o in open_now if o.startswith("look:") and "microscope" not in o]
        logs = [o for o in open_now if o.startswith("look:") and o not in eye]
        outside = [o for o in open_now if o.startswith(("work:try-external", "work:restart"))]
        slots = list(case.model.slots)
        fitted = case.situation.configuration.fitted
        swaps = [f"trial:{s}:fit" for s in slots if not _swapped(case, s) or _proven(case, s)]
        runs = [o for o in open_now if o.startswith("run:")]
        refreshes = [
            f"trial:{s}:{'refresh' if fitted[s] != ORIGINAL else 'fit-refresh'}" for s in slots
        ]
        surprise = self._after_surprise(case, open_now)
        updates = [o for o in open_now if o.startswith("refresh:")]
        rest = _any_work(open_now)
        steps = [outside, eye, logs, seat, clean, swaps, runs, surprise]
        return [item for group in (*steps, refreshes, updates, rest) for item in group]

    def _after_surprise(self, case: Case, open_now: dict[str, Option]) -> list[str]:
        """Return the likeliest work where a reading or a look pointed at the board."""
        leading = case.suspects(1)[0]
        cured = [r.id for r in case.model.work if _cures(case, r.cures, leading.key)]
        small = [name for name in cured if name in open_now]
        return small if leading.probability > 0.3 else []


def _finishing(open_now: Mapping[str, Option]) -> str:
    """Return how to end a job that works: by the same rules of proof for everybody."""
    refits = [name for name in open_now if name.endswith(":refit")]
    order = [VERIFY, CLOSE, *refits]
    return next(name for name in order if name in open_now)


def _any_work(open_now: dict[str, Option]) -> list[str]:
    return [name for name in open_now if name.startswith("work:")]


def _cures(case: Case, cures: tuple[tuple[int, float], ...], family: str) -> bool:
    return any(case.model.listed[index].fault.family == family for index, _ in cures)


def _proven(case: Case, slot: str) -> bool:
    """Tell whether a donor worked before the original failed once more."""
    donor_failed = (slot, DONOR) in case.situation.failed
    return (slot, DONOR) in case.situation.configuration.recognised and not donor_failed


def _swapped(case: Case, slot: str) -> bool:
    return any(
        getattr(move.act, "slot", None) == slot and getattr(move.act, "instance", "") != ORIGINAL
        for move in case.moves
    )
