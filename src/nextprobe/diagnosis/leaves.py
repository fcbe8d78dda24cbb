"""Plan tables by situation; those that differ in weights alone share all the rest."""

from __future__ import annotations

from functools import cached_property
from weakref import WeakKeyDictionary

from nextprobe.diagnosis.costs import work_prices
from nextprobe.diagnosis.grouping import Grouping, grouping
from nextprobe.diagnosis.leaf import Leaf, affordable_work
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import VERIFICATIONS, may_check_after_work
from nextprobe.diagnosis.probing import Probing
from nextprobe.diagnosis.run_plans import RunPlan, run_plan
from nextprobe.diagnosis.running import Run
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.transitions import checked_here
from nextprobe.planning import PlanTable

# Steps times groups of worlds in all the tables that are kept; some 40 bytes each.
_CELLS_KEPT = 16_000_000


class Leaves:
    """Plan tables by situation.

    Parameters
    ----------
    model : Model
    probing : Probing
    """

    def __init__(self, model: Model, probing: Probing) -> None:
        self._model = model
        self._probing = probing
        self._work = work_prices(model)
        self._run_plans: dict[tuple[str, tuple[str, ...]], RunPlan] = {}
        self._tables: dict[tuple[object, ...], PlanTable] = {}
        self._found: WeakKeyDictionary[Situation, tuple[PlanTable, Grouping]] = WeakKeyDictionary()

    def at(self, situation: Situation) -> tuple[PlanTable, Grouping]:
        """Return the plan table of a situation, and how its worlds map to the table's."""
        if situation not in self._found:
            self._found[situation] = self._table(situation)
        return self._found[situation]

    @cached_property
    def _at_start(self) -> tuple[Situation, PlanTable, Grouping]:
        """The job when the device came in, and plans without runs there."""
        start = self._model.start()
        groups = grouping(self._model, start.ensemble)
        return start, Leaf(self._model, start, groups, self._work).table, groups

    def _run_plan(self, run: Run) -> RunPlan:
        """Return what a run over these points is worth as a step of a plan."""
        key = run.id, run.points
        if key not in self._run_plans:
            start, table, groups = self._at_start
            self._run_plans[key] = run_plan(self._model, start, run, table, groups)
        return self._run_plans[key]

    def _runs_left(self, situation: Situation) -> list[RunPlan]:
        """Return the runs over the points that were not read yet: what was read tells no more."""
        if situation.working:
            return []
        left = [self._probing.run_now(situation, name) for name in self._probing.plain_runs]
        return [self._run_plan(run) for run in left if run is not None]

    def _limits_met(self, situation: Situation) -> bytes:
        """Return what the ceiling still allows; equal where it allows the same."""
        if self._model.limits.ceiling is None:
            return b""
        allowed = affordable_work(self._model, situation, self._work[2])
        return allowed.tobytes() + str(int(situation.spent)).encode()

    def _forget(self) -> None:
        """Drop the oldest tables where all together have grown too large; the newest stays."""
        cells = sum(table.ends.size for table in self._tables.values())
        while cells > _CELLS_KEPT and len(self._tables) > 1:
            cells -= self._tables.pop(next(iter(self._tables))).ends.size

    def _table(self, situation: Situation) -> tuple[PlanTable, Grouping]:
        groups = grouping(self._model, situation.ensemble)
        runs = self._runs_left(situation)
        key = (
            situation.configuration.with_(meter="", powered=False),
            bool(situation.working),
            frozenset(n for n in situation.tried if n.startswith(("work:", "refresh:"))),
            checked_here(self._model, situation, self._model.complaint, VERIFICATIONS),
            may_check_after_work(self._model, situation),
            situation.failed,
            tuple((plan.name, plan.points) for plan in runs),
            groups.codes,
            self._limits_met(situation),
        )
        if key not in self._tables:
            self._tables[key] = Leaf(self._model, situation, groups, self._work, runs).table
            self._forget()
        weights = groups.sums(situation.ensemble.probabilities)
        return self._tables[key].with_weights(weights), groups
