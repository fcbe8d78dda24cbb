"""Know what is wrong: the bound that no strategy beats on average."""

from __future__ import annotations

from collections.abc import Callable, Collection

from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.planning import best_plan
from nextprobe.trials.strategies.rules import (
    Offered,
    first_of,
    first_repair,
    giving_up,
    not_refitted,
    offered,
    settled,
)


class PerfectKnowledge:
    """Know the faults, though not one's luck, and take the cheapest steps that end the job.

    Parameters
    ----------
    families : str
        Names of the true faults without their magnitudes.
    left : callable or None
        Says which of them are still there; all of them if left out.
    """

    name = "perfect knowledge"

    def __init__(self, *families: str, left: Callable[[], Collection[str]] | None = None) -> None:
        self.families = tuple(dict.fromkeys(families))
        self._left = left

    def choose(self, case: Case) -> str:
        """Return the first step of the best plan for the faults that are really there."""
        open_now = offered(case)
        if case.situation.working:
            good = [
                slot for slot in not_refitted(case) if f"module-bad:{slot}" not in self.families
            ]
            back = first_of([f"trial:{slug(slot)}:refit" for slot in good], open_now)
            if back is not None:
                return back
        must = settled(case, open_now)
        if must is not None:
            return must
        left = self.families if self._left is None else self._left()
        # Where all is cured and a check has erred, the plan for the first says how to see it.
        names = [name for name in self.families if name in left] or self.families[:1]
        firsts = [self._first(case, open_now, name) for name in names]
        # One that is not worth curing makes the others not worth it either.
        if not firsts or None in firsts:
            return giving_up(case, open_now)
        return next(name for name in firsts if name is not None)

    def _first(self, case: Case, open_now: Offered, family: str) -> str | None:
        table = case.problem.plan_if(case.situation, family)
        if not table.weights.sum() > 0.0:
            return None
        return first_repair(best_plan(table).order, open_now)
