"""The p/c order: repair what is likeliest for its price, and ask nothing."""

from __future__ import annotations

from nextprobe.diagnosis.case import Case
from nextprobe.planning import p_over_c_plan
from nextprobe.trials.strategies.rules import first_repair, giving_up, offered, settled


class POverC:
    """Take the repair with the greatest chance of ending the job per price, as long as it pays.

    Renewed after every step (Heckerman, Breese and Rommelse 1995; Jensen et al. 2001).
    """

    name = "p/c order"

    def choose(self, case: Case) -> str:
        """Return the first step of the updated p/c order."""
        open_now = offered(case)
        must = settled(case, open_now)
        if must is not None:
            return must
        plan = p_over_c_plan(case.problem.plan_table(case.situation))
        return first_repair(plan.order, open_now) or giving_up(case, open_now)
