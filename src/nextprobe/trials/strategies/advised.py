"""Follow the advice of Nextprobe."""

from __future__ import annotations

from nextprobe.diagnosis.case import LOOK_AHEADS, Case

# Jobs that began alike are thought over once; further on hardly any two are alike.
_ALIKE = 6
_KEPT = 5_000


class Advised:
    """Follow the recommendation.

    Parameters
    ----------
    budget : int
        Look-aheads a step.
    """

    name = "nextprobe"

    def __init__(self, budget: int = LOOK_AHEADS) -> None:
        self.budget = budget
        self._known: dict[tuple[object, ...], str] = {}

    def choose(self, case: Case) -> str:
        """Return the recommended option; jobs that began alike need not be thought over twice."""
        if len(case.moves) > _ALIKE:
            return self._advice(case)
        key = (case.brief.complaint, case.brief.history, case.brief.pack.device.name, case.moves)
        if key not in self._known:
            if len(self._known) >= _KEPT:
                self._known.clear()
            self._known[key] = self._advice(case)
        return self._known[key]

    def _advice(self, case: Case) -> str:
        return case.recommend(self.budget).option.id
