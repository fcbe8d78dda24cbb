"""The diagnosis of one complaint as a decision problem for the planner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.diagnosis.acts import FAILED, Act, Check, Gauge, Look, Probe, Refresh
from nextprobe.diagnosis.attempts import done_before, trust_now
from nextprobe.diagnosis.cautions import with_all_cautions
from nextprobe.diagnosis.costs import (
    STEP_OVERHEAD,
    acts_cost,
    charged,
    charges,
    handover_cost,
    made_ready,
)
from nextprobe.diagnosis.functioning import candidate_chances, member_values, members_active
from nextprobe.diagnosis.ids import reading_id
from nextprobe.diagnosis.leaf import handing_over
from nextprobe.diagnosis.leaves import Leaves
from nextprobe.diagnosis.lifting import LIFT, Lifting
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import (
    CLOSE,
    DECLINE,
    ESCALATE,
    TERMINAL,
    acts_of,
    check_options,
    complaint_check,
    current_options,
    ending_options,
    lift_option,
    look_options,
    refresh_options,
    trial_options,
    verify_options,
    work_option,
)
from nextprobe.diagnosis.probing import Probing
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.diagnosis.transitions import perform
from nextprobe.planning import Configuration, Cost, LeafBatch, Option, PlanTable

FloatArray = NDArray[np.float64]

_WORK_OFFERED = 12


class DiagnosisProblem:
    """Implements the planner's `Problem` and `Batched` for one model.

    Parameters
    ----------
    model : Model
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self.probing = Probing(model)
        self._leaves = Leaves(model, self.probing)
        self._lifts = Lifting(model)

    def options(self, state: Situation) -> Sequence[Option]:
        """Return what may be done now; what crosses a hard limit is not among it."""
        found = [*trial_options(self.model, state), *ending_options(self.model, state)]
        found += verify_options(self.model, state)
        if not state.working:
            found += look_options(self.model, state)
            found += check_options(self.model, state)
            found += refresh_options(self.model, state)
            found += [work_option(self.model, name) for name in self._likely_work(state)]
            found += current_options(self.model, state)
            found += self.probing.options(state)
            found += [lift_option(self.model, name) for name in self._liftable(state)]
        return [
            with_all_cautions(self.model, state, option)
            for option in found
            if self._admitted(state, option)
        ]

    def _admitted(self, state: Situation, option: Option) -> bool:
        # Whether what was done has helped is found out, proved and handed over even where the shop
        # can no longer charge for it.
        after_work = state.changes > 0 and option.id == complaint_check(self.model)
        if option.id in TERMINAL or after_work or state.working:
            return self.model.limits.admits(option)
        again = option.id in done_before(state.tried)
        cost = 0.0 if again else charged(self.model, self.cost(state, option))
        return self.model.limits.admits(option, state.spent + cost)

    def cost(self, state: Situation, option: Option) -> Cost:
        """Return the expected cost of an option by kind."""
        costs = self.model.pack.costs
        if option.id == CLOSE:
            return handover_cost(self.model, state.configuration)
        if option.id == DECLINE:
            return Cost(harms=costs.lost_job)
        if option.id == ESCALATE:
            return Cost(harms=costs.escalation)
        noting = Cost(STEP_OVERHEAD, STEP_OVERHEAD)
        if self.probing.owns(option.id):
            return noting + self.probing.cost(state, option.id)
        acts = acts_of(self.model, state, option.id)
        return noting + acts_cost(self.model, state.configuration, acts)[0]

    def price(self, state: Situation, option: Option) -> float:
        """Return the expected price of an option [currency]."""
        price = self.model.tariff.price(self.cost(state, option))
        if option.id == CLOSE:
            ending = handing_over(self.model, state.ensemble, state.configuration)
            return state.ensemble.expectation(ending)
        return price

    def outcomes(self, state: Situation, option: Option) -> Sequence[Branch[Situation]]:
        """Return what may come of an option; one that ends the job has no outcomes."""
        if option.id in TERMINAL:
            return ()
        if self.probing.owns(option.id):
            return self.probing.outcomes(state, option.id)
        acts = acts_of(self.model, state, option.id)
        if option.id.startswith(LIFT):
            return self._lifting(state, acts)
        _, opened = acts_cost(self.model, state.configuration, acts)
        branches = [Branch("", 1.0, state)]
        for act in acts:
            branches = [then for branch in branches for then in self._further(branch, act)]
        spent = state.spent + charges(self.model, state.configuration, acts, state.tried)
        return [_concluded(branch, opened, spent) for branch in branches]

    def _liftable(self, state: Situation) -> list[str]:
        chances = candidate_chances(self.model, state.ensemble)
        return self._lifts.worth(chances, state.configuration.removed)

    def _lifting(self, state: Situation, acts: tuple[Act, ...]) -> Sequence[Branch[Situation]]:
        """Return what may be read once a part is off; the work itself shows nothing."""
        work, probe = acts
        assert isinstance(probe, Probe)
        name = reading_id(probe.point, probe.mode, probe.clamped)
        spent = state.spent + charged(
            self.model, acts_cost(self.model, state.configuration, acts)[0]
        )
        off = perform(self.model, state, work)[0].state
        assert off is not None
        ready = made_ready(self.model.pack, off.configuration, work)
        read = self.probing.outcomes(replace(off, configuration=ready), name)
        return [
            replace(branch, state=replace(branch.state, spent=spent))
            for branch in read
            if branch.state is not None
        ]

    def _further(self, branch: Branch[Situation], act: Act) -> list[Branch[Situation]]:
        if branch.label == FAILED or branch.state is None:
            return [branch]
        return [
            Branch(_label(act, then.label), branch.probability * then.probability, then.state)
            for then in perform(self.model, branch.state, act)
        ]

    def plan_table(self, state: Situation) -> PlanTable:
        """Return the steps that may end the job from here."""
        return self._leaves.at(state)[0]

    def plan_if(self, state: Situation, family: str) -> PlanTable:
        """Return the plan table for somebody who knows which family of faults is there."""
        table, groups = self._leaves.at(state)
        member = np.array([item.fault.family == family for item in self.model.listed])
        there = self.model.sets.any_member(member)[state.ensemble.columns[HYPOTHESIS]]
        known = state.ensemble.probabilities * there
        return table.with_weights(groups.sums(known))

    def lower_bound(self, state: Situation) -> float:
        """Return the expected cost if the truth were known at once.

        In each world the job ends by one of the steps of a plan table or by giving up, and no
        policy beats the cheapest of these. What seems to work may turn out not to, and the other
        way about: both tables count. Several faults may take several steps: nothing is claimed of
        the worlds that have them.
        """
        found = [self._leaves.at(replace(state, working=seems)) for seems in (True, False)]
        tables = [table for table, _ in found]
        known = np.minimum(*(table.grouped.by_world for table in tables))
        if self.model.sets.several:
            first = state.ensemble.selected(found[0][1].first)
            known = np.where(members_active(self.model, first).sum(axis=1) > 1, 0.0, known)
        weights = tables[0].weights
        return float(known @ weights / weights.sum())

    def leaf_batch(self, state: Situation, option: Option) -> LeafBatch | None:
        """Return the outcomes of readings and work as weights over one shared plan table."""
        if self.probing.owns(option.id):
            table, groups = self._leaves.at(self.probing.done(state, option.id))
            by_world = self.probing.likelihoods(state, option.id) * state.ensemble.probabilities
            joint = groups.sums(by_world)
            return LeafBatch(joint.sum(axis=1), joint, table)
        if option.kind == "work":
            return self._work_batch(state, option)
        return None

    def _work_batch(self, state: Situation, option: Option) -> LeafBatch | None:
        table = self.plan_table(state)
        if option.id not in table.names or self._may_leave_some(state, option.id):
            return None
        row = table.names.index(option.id)
        left = table.weights * (1.0 - table.ends[row])
        paid = float(table.weights @ (table.ends[row] * table.penalties[row]))
        return LeafBatch(np.array([left.sum()]), left[None, :], table, paid)

    def _may_leave_some(self, state: Situation, work: str) -> bool:
        """Tell whether work may take away some of the faults of a world and leave others."""
        if not self.model.sets.several:
            return False
        row = self.model.work.index(self.model.work_by_id[work])
        active = members_active(self.model, state.ensemble)
        cures = member_values(self.model, state.ensemble, self.model.cure_chances[row])
        several = active.sum(axis=1) > 1
        return bool((several & ((cures > 0.0) & active).any(axis=1)).any())

    def _likely_work(self, state: Situation) -> list[str]:
        """Return the work that is likeliest to cure for what it costs."""
        table = self.plan_table(state)
        gain = self.model.cure_chances @ candidate_chances(self.model, state.ensemble)
        ratio = {
            repair.id: trust_now(state.tried, repair.id)
            * gain[row]
            / max(table.prices[table.names.index(repair.id)], 1e-9)
            for row, repair in enumerate(self.model.work)
            if repair.id in table.names and gain[row] > 1e-4
        }
        return sorted(ratio, key=lambda name: -ratio[name])[:_WORK_OFFERED]


def _label(act: Act, result: str) -> str:
    """Return the word that stands for the outcome of an option so far."""
    if isinstance(act, Check | Gauge | Look):
        return result
    if isinstance(act, Refresh) and result == FAILED:
        return FAILED
    return ""


def _concluded(branch: Branch[Situation], ready: Configuration, spent: float) -> Branch[Situation]:
    if branch.state is None:
        return branch
    configuration = branch.state.configuration.with_(opened=ready.opened, powered=ready.powered)
    state = replace(branch.state, configuration=configuration, spent=spent)
    return replace(branch, state=state)
