"""A table that is too cheap must not make idle questions look better than acting."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nextprobe.belief import Branch
from nextprobe.planning import LeafBatch, Option, PlanTable, option_of, recommend

ACT, IDLE, STOP = Option("act", "Act"), Option("idle", "Ask something idle"), Option("stop", "Stop")


class Optimist:
    """Acting ends the job at the price of 10; the plan table believes that it costs 5."""

    def __init__(self) -> None:
        self.table = PlanTable(
            ("act+form",),
            np.array([1.0]),
            np.array([5.0]),
            np.array([[1.0]]),
            np.array([[0.0]]),
            np.array([100.0]),
        )

    def options(self, state: int) -> Sequence[Option]:
        return [ACT, IDLE, STOP] if state < 3 else [ACT, STOP]

    def price(self, state: int, option: Option) -> float:
        return {"act": 10.0, "idle": 1.0, "stop": 100.0}[option.id]

    def outcomes(self, state: int, option: Option) -> Sequence[Branch[int]]:
        if option is STOP:
            return ()
        return [Branch("done", 1.0, None)] if option is ACT else [Branch("so", 1.0, state + 1)]

    def plan_table(self, state: int) -> PlanTable:
        return self.table

    def lower_bound(self, state: int) -> float:
        return 10.0

    def leaf_batch(self, state: int, option: Option) -> LeafBatch | None:
        if option is not IDLE:
            return None
        return LeafBatch(np.array([1.0]), np.array([[1.0]]), self.table)


def test_the_step_that_a_plan_puts_off_is_taken_at_its_true_price() -> None:
    for budget in (0, 5, 50):
        advice = recommend(Optimist(), 0, budget)
        assert advice.option is ACT
        assert advice.cost == 10.0
        idle = next(each for each in advice.alternatives if each.option is IDLE)
        assert idle.cost == 11.0


def test_a_step_of_a_plan_names_its_option() -> None:
    assert option_of("trial:x:fit+refit") == "trial:x:fit"
    assert option_of("work:clean:J4") == "work:clean:J4"
