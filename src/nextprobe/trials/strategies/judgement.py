"""What an order leaves to judgement: a surprise on the way, and what comes at its end.

Whoever weighs has our inference: the leading suspect is followed, and at the end come the repairs
that the evidence makes cheapest. Whoever has none goes by habit (common practice, no published
source): a reading that is not as on a good board is followed by the likeliest work on its net, and
at the end come the repairs that were the plan when the device came in.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

import numpy as np

from nextprobe.diagnosis.acts import Work
from nextprobe.diagnosis.attempts import attempts
from nextprobe.diagnosis.case import Case
from nextprobe.planning import best_plan, option_of
from nextprobe.trials.strategies.rules import (
    Offered,
    first_repair,
    follow_plan,
    giving_up,
    is_odd,
    surprised,
)

# A surprise is followed where weighing makes one fault this likely, and by this many pieces of work
# where nothing is weighed.
_WORTH_FOLLOWING = 0.3
_FOLLOWED = 3


class Judgement(Protocol):
    """Decides what an order does not say."""

    def led(self, case: Case, open_now: Offered) -> str | None:
        """Return the work that the last reading leads to at once; None if it leads nowhere."""
        ...

    def rest(self, case: Case, open_now: Offered) -> str:
        """Return the step after all of the order was taken."""
        ...


class Weighing:
    """Follow what our inference makes of the evidence."""

    def led(self, case: Case, open_now: Offered) -> str | None:
        """Return the repair of the leading suspect, where a surprise makes it lead by enough."""
        if not surprised(case):
            return None
        leading = case.suspects(1)[0]
        if leading.remaining < _WORTH_FOLLOWING:
            return None
        order = best_plan(case.problem.plan_if(case.situation, leading.key)).order
        work = fresh(case, [name for name in order if name.startswith("work:")])
        return first_repair(work, open_now)

    def rest(self, case: Case, open_now: Offered) -> str:
        """Return the first step of the plan of repairs that is cheapest now."""
        return follow_plan(case, open_now)


class Habit:
    """Weigh nothing: work on the net that reads oddly, then what was planned at the intake."""

    def led(self, case: Case, open_now: Offered) -> str | None:
        """Return the likeliest work per price on the net of the last reading, if that was odd."""
        del open_now
        worked = 0
        for move in reversed(case.moves):
            worked += isinstance(move.act, Work)
            if move.reading is not None:
                if worked >= _FOLLOWED or not is_odd(case, move.reading, 0):
                    return None
                return next(iter(fresh(case, _work_on(case, move.reading.point))), None)
        return None

    def rest(self, case: Case, open_now: Offered) -> str:
        """Return the first step of the plan at the intake that has not been taken."""
        _, intake = case.trail[0]
        planned = map(option_of, best_plan(case.problem.plan_table(intake)).order)
        return first_repair(fresh(case, planned), open_now) or giving_up(case, open_now)


def _work_on(case: Case, point: str) -> list[str]:
    """Return the work within the limits on what hangs on the net of a point, likeliest per price.

    What is likely is what was when the device came in: nothing is weighed.
    """
    model, table = case.model, case.problem.plan_table(case.situation)
    if model.board is None or model.expectations is None:
        return []
    net = model.board.net_of(point)
    prior = np.zeros(len(model.listed))
    for candidate, nets in model.expectations.nets_of.items():
        prior[candidate] = model.whole_prior[candidate] * (net in nets)
    gains = model.cure_chances @ prior
    allowed = {
        repair.id: gain / max(table.prices[table.names.index(repair.id)], 1e-9)
        for repair, gain in zip(model.work, gains, strict=True)
        if gain > 0.0 and repair.id in table.names
    }
    return sorted(allowed, key=lambda name: -allowed[name])


def fresh(case: Case, wanted: Iterable[str]) -> list[str]:
    """Return the steps that have not been taken yet: an order takes none twice."""
    tried = case.situation.tried
    return [name for name in wanted if name not in tried and not attempts(tried, name)]
