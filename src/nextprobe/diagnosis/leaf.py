"""The plan table of a situation: every step that may end the job, world by world."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.board import FaultKind
from nextprobe.diagnosis.acts import ORIGINAL, Act, Check, Fit, Refresh
from nextprobe.diagnosis.attempts import done_before, finishing, trust_now
from nextprobe.diagnosis.costs import (
    DEPTHS,
    STEP_OVERHEAD,
    act_cost,
    acts_cost,
    charged,
    depth_of,
    handover_cost,
    way_in,
)
from nextprobe.diagnosis.fault_sets import all_cured
from nextprobe.diagnosis.functioning import (
    active_sets,
    failing,
    failing_once,
    fault_failing,
    has_active,
    instance_failing,
    member_values,
    members_active,
    members_present,
)
from nextprobe.diagnosis.grouping import Grouping
from nextprobe.diagnosis.ids import named, slug
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import (
    VERIFICATIONS,
    acts_of,
    complaint_check,
    may_check_after_work,
    refresh_options,
    restored,
    trial_options,
)
from nextprobe.diagnosis.proof import needs_proof, unproven
from nextprobe.diagnosis.run_plans import RunPlan
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.diagnosis.transitions import checked_here
from nextprobe.packs.schema import Access
from nextprobe.planning import Configuration, Cost, Option, PlanTable

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# For how many of the likeliest pairs of faults the plans hold work on one, then on the other.
_PAIRS_PLANNED = 12


@dataclass
class _Rows:
    """A plan table in the making; each entry is a block of steps."""

    names: list[str] = field(default_factory=list)
    prices: list[FloatArray] = field(default_factory=list)
    levels: list[IntArray] = field(default_factory=list)
    ends: list[FloatArray] = field(default_factory=list)
    penalties: list[FloatArray] = field(default_factory=list)


class Leaf:
    """Builds the plan table of one situation.

    Parameters
    ----------
    model : Model
    situation : Situation
    groups : Grouping
        How the worlds of the situation map to those of the table.
    work : (ndarray, ndarray, ndarray), shape (W,) each
        Prices, levels and charges of :func:`~nextprobe.diagnosis.costs.work_prices`.
    runs : sequence of RunPlan
        Probing runs that are still to be had.

    Attributes
    ----------
    table : PlanTable
    """

    def __init__(
        self,
        model: Model,
        situation: Situation,
        groups: Grouping,
        work: tuple[FloatArray, IntArray, FloatArray],
        runs: Sequence[RunPlan] = (),
    ) -> None:
        self.model = model
        self._runs = runs
        self._work_prices = work
        self.situation = situation
        self.groups = groups
        self._ensemble = situation.ensemble.selected(self.groups.first)
        self._active = members_active(model, self._ensemble)
        costs = model.pack.costs
        self._giving_up = min(costs.lost_job, costs.escalation)
        # What passes one check by chance is mostly found by the verification, and is then to do.
        self._missed = min(costs.comeback, self._giving_up)
        self._home = situation.configuration.with_(
            fitted=dict.fromkeys(situation.configuration.fitted, ORIGINAL)
        )
        # Putting the originals back is due once, before the first step that needs them.
        self._going_home = () if situation.working else restored(situation.configuration)
        self._fault = fault_failing(model, self._ensemble, self._home, model.complaint)
        self._rows = _Rows()
        self.table = self._table()

    def _table(self) -> PlanTable:
        if not self.situation.working:
            self._add_work()
            self._add_refreshes()
            self._add_runs()
            self._add_trials()
            self._add_checking_again()
        else:
            self._add_refitting()
        rows, worlds = self._rows, len(self._ensemble)
        return PlanTable(
            tuple(rows.names),
            self.groups.sums(self.situation.ensemble.probabilities),
            np.concatenate([np.zeros(0), *rows.prices]),
            np.concatenate([np.zeros((0, worlds)), *rows.ends]),
            np.concatenate([np.zeros((0, worlds)), *rows.penalties]),
            self._stopping(),
            np.concatenate([np.zeros(0, dtype=np.intp), *rows.levels]),
            self._level_prices(),
        )

    def _level_prices(self) -> FloatArray:
        pack, configuration = self.model.pack, self.situation.configuration
        ways = [self.model.tariff.price(way_in(pack, configuration, level)) for level in DEPTHS]
        home = self._price_inside(self._going_home) if self._going_home else 0.0
        return np.array([ways[0], *(way + home for way in ways[1:])])

    def _stopping(self) -> FloatArray:
        """Return the cost of giving up now, or of handing over if it works."""
        giving_up = np.full(len(self._ensemble), self._giving_up)
        if not self.situation.working:
            return giving_up
        model, configuration = self.model, self.situation.configuration
        before = self._verifying(configuration) + self._proving()
        price = before + handing_over(model, self._ensemble, configuration)
        return np.asarray(np.minimum(giving_up, price))

    def _proving(self) -> float:
        """Return the price of showing that the original of each replaced module is bad."""
        fitted = self.situation.configuration.fitted
        return sum(
            self._fitting(slot, ORIGINAL)[0] + self._fitting(slot, fitted[slot])[0]
            for slot in unproven(self.model, self.situation)
        )

    def _fitting(self, slot: str, instance: str) -> tuple[float, int]:
        """Return the price of fitting an instance and checking, and the level."""
        return self._price((Fit(slot, instance), Check(self.model.complaint)))

    def _verifying(self, configuration: Configuration) -> float:
        """Return the price of the verification that must come before the end."""
        if checked_here(self.model, self.situation, self.model.complaint, VERIFICATIONS):
            return 0.0
        return self._verification(configuration)

    def _verification(self, configuration: Configuration) -> float:
        check = Check(self.model.complaint, VERIFICATIONS)
        return self.model.tariff.price(act_cost(self.model, configuration, check))

    def _price(self, acts: tuple[Act, ...]) -> tuple[float, int]:
        """Return the price of acts once the device is made ready for them, and the level."""
        acts = tuple(act for act in acts if act not in self._going_home)
        least = 1 if self._going_home else 0
        level = max(least, *(depth_of(self.model.pack, act) for act in acts))
        noting = Cost(STEP_OVERHEAD, STEP_OVERHEAD)
        return self._price_inside(acts) + self.model.tariff.price(noting), level

    def _price_inside(self, acts: tuple[Act, ...]) -> float:
        inside = self.situation.configuration.with_(opened=Access.BOARD_OUT.value)
        return self.model.tariff.price(acts_cost(self.model, inside, acts)[0])

    def _closing(self, configuration: Configuration) -> float:
        check = Check(self.model.complaint, VERIFICATIONS)
        verifying = act_cost(self.model, configuration, check)
        return self.model.tariff.price(verifying + handover_cost(self.model, configuration))

    def _passing(self, fails: FloatArray) -> FloatArray:
        check = self.model.function.check
        return np.asarray(fails * check.false_pass + (1.0 - fails) * (1.0 - check.false_fail))

    def _add(
        self,
        names: list[str],
        price: tuple[FloatArray, IntArray],
        ends: FloatArray,
        penalties: FloatArray,
    ) -> None:
        self._rows.names.extend(names)
        self._rows.prices.append(price[0])
        self._rows.levels.append(price[1])
        self._rows.ends.append(ends)
        self._rows.penalties.append(penalties)

    def _add_cures(
        self, names: list[str], price: tuple[FloatArray, IntArray], cure: FloatArray
    ) -> None:
        """Add steps that take faults away, each candidate with its chance, and are checked.

        `cure` is of shape (N, H).
        """
        self._add_gone(names, price, all_cured(self._of_members(cure), self._active), 0.0)

    def _of_members(self, chances: FloatArray) -> FloatArray:
        """Return chances of candidates, shape (..., H), by member, shape (..., G, M)."""
        return member_values(self.model, self._ensemble, chances)

    def _add_gone(
        self,
        names: list[str],
        price: tuple[FloatArray, IntArray],
        gone: FloatArray,
        saved: FloatArray | float,
    ) -> None:
        """Add steps after which nothing is left with some chance, shape (N, G).

        `saved` is the part of the price that does not fall due where they end the job.
        """
        false_fail = self.model.function.check.false_fail
        cured = gone * (1.0 - false_fail)
        missed = (1.0 - gone) * self._passing(self._fault)
        ends = cured + missed
        late = self._missed * missed / np.maximum(ends, 1e-300)
        penalties = self._closing(self._home) + late - saved
        self._add(names, price, ends, np.maximum(penalties, 0.0))

    def _add_work(self) -> None:
        model = self.model
        useful = (model.cure_chances[:, self._there()] > 0.0).any(axis=1)
        kept = [
            row
            for row in np.flatnonzero(useful & self._affordable_work()).tolist()
            if model.work[row].id not in self.situation.tried
        ]
        if not kept:
            return
        prices, levels, _ = self._work_prices
        least = 1 if self._going_home else 0
        self._add_cures(
            [model.work[row].id for row in kept],
            (prices[kept], np.maximum(levels[kept], least)),
            self._cures(kept),
        )
        self._add_work_on_sets(kept, least)

    def _cures(self, rows: list[int]) -> FloatArray:
        """Return the chance that each of some work cures each candidate now, shape (N, H)."""
        tried = self.situation.tried
        trusted = [trust_now(tried, self.model.work[row].id) for row in rows]
        return np.asarray(self.model.cure_chances[rows] * np.array(trusted)[:, None])

    def _there(self) -> NDArray[np.bool_]:
        """Return which candidates are there in some world, shape (H,)."""
        ones = np.ones(len(self._ensemble))
        sets = self._ensemble.columns[HYPOTHESIS]
        return self.model.sets.by_candidate(ones, sets, self._active) > 0.0

    def _add_work_on_sets(self, kept: list[int], least: int) -> None:
        """Add doing one piece of work and then, where it still fails, another.

        Where one fault of a pair is repaired the device still fails: no single step ends such a
        job. The price is that of both, less the second where the first was enough.
        """
        prices, levels, _ = self._work_prices
        for first, second in work_pairs(self.model, kept):
            one, other = self._of_members(self._cures([first, second]))
            alone = all_cured(one, self._active)
            gone = all_cured(1.0 - (1.0 - one) * (1.0 - other), self._active)
            spared = prices[second] * alone / np.maximum(gone, 1e-300)
            names = [f"{self.model.work[first].id}+{self.model.work[second].id}"]
            level = max(int(levels[first]), int(levels[second]), least)
            price = float(prices[first] + prices[second])
            self._add_gone(names, _one((price, level)), gone[None, :], spared)

    def _affordable_work(self) -> NDArray[np.bool_]:
        return affordable_work(self.model, self.situation, self._work_prices[2])

    def _admitted(self, option: Option, acts: tuple[Act, ...]) -> bool:
        cost, _ = acts_cost(self.model, self.situation.configuration, acts)
        charge = self.situation.spent + charged(self.model, cost)
        return self.model.limits.admits(option, charge)

    def _add_refreshes(self) -> None:
        for option in refresh_options(self.model, self.situation):
            acts = acts_of(self.model, self.situation, option.id)
            if not self._admitted(option, acts):
                continue
            name = next(act.name for act in acts if isinstance(act, Refresh))
            cure = self.model.refresh_cures[name] * self._finishing(name)
            self._add_cures([option.id], _one(self._price(acts)), cure[None, :])

    def _finishing(self, refresh: str) -> float:
        success = self.model.pack.refreshes[refresh].success
        return finishing(success, self.situation.tried, refresh)

    def _add_runs(self) -> None:
        for plan in self._runs:
            left = active_sets(self.model, self._ensemble)
            some = self._active.any(axis=1)
            kind = self.model.world_class[np.where(some, left, 0)]
            ends = np.where(some, plan.ends[kind], 0.0)
            penalties = np.where(some, plan.penalties[kind], 0.0)
            level = DEPTHS.index(self.model.pack.readings.access)
            self._add([plan.name], _one((plan.price, level)), ends[None, :], penalties[None, :])

    def _add_trials(self) -> None:
        for option in trial_options(self.model, self.situation):
            acts = acts_of(self.model, self.situation, option.id)
            if not self._admitted(option, acts):
                continue
            _, slot_word, form = option.id.split(":")
            slot = named(self.model.pack.modules, slot_word)
            if form == "refit":
                cure = self._seating(slot)
                self._add_cures([option.id], _one(self._price(acts)), cure[None, :])
            else:
                self._add_swap(option.id, slot, acts)

    def _add_checking_again(self) -> None:
        """Add checking once more, with all as it is now: a failure after work may be a mistake."""
        model, configuration = self.model, self.situation.configuration
        if not may_check_after_work(model, self.situation):
            return
        fails = failing_once(model, self._ensemble, configuration, model.complaint)
        level = DEPTHS.index(model.function.check.access)
        price = self._price((Check(model.complaint),))[0]
        ending = np.minimum(self._verified(configuration) + self._proving(), self._giving_up)
        ends = self._passing(fails)
        self._add([complaint_check(model)], _one((price, level)), ends[None], ending[None])

    def _add_refitting(self) -> None:
        """Add putting an original back to see: it stays if it works, and goes again if not."""
        for slot, fitted in self.situation.configuration.fitted.items():
            if fitted != ORIGINAL:
                self._add_refit(slot)

    def _add_refit(self, slot: str) -> None:
        model, configuration = self.model, self.situation.configuration
        home = configuration.with_(fitted={slot: ORIGINAL})
        fails = failing(model, self._ensemble, home, model.complaint)[:, 0]
        unseen = self._passing(fails) ** (1 + VERIFICATIONS)
        anew, _ = self._fitting(slot, configuration.fitted[slot])
        swapping = np.minimum(anew + self._verified(configuration), self._giving_up)
        keeping = np.minimum(self._verified(home), self._giving_up)
        penalties = unseen * keeping + (1.0 - unseen) * swapping
        name = f"trial:{slug(slot)}:refit"
        price = self._fitting(slot, ORIGINAL)
        self._add([name], _one(price), np.ones((1, unseen.size)), penalties[None, :])

    def _verified(self, configuration: Configuration) -> FloatArray:
        """Return the cost of verifying and handing over, in each world, shape (G,)."""
        verifying = self._verification(configuration)
        return verifying + handing_over(self.model, self._ensemble, configuration)

    def _seating(self, slot: str) -> FloatArray:
        """Return the chance that plugging in anew cures each candidate, shape (H,)."""
        seat = self.model.of_kind(FaultKind.SEATING, self.model.seat_of(slot))
        return np.where(seat, self.model.pack.work["reseat"].success, 0.0)

    def _add_swap(self, name: str, slot: str, acts: tuple[Act, ...]) -> None:
        """Add a trial twice: keep what is fitted if it works, or refit the original then.

        Where it does not work the original goes back too: that is in the price of both, and is
        given back where the module is kept.
        """
        model, ensemble = self.model, self._ensemble
        fitted = self.situation.configuration.fitted[slot]
        instance = next((act.instance for act in acts if isinstance(act, Fit)), fitted)
        swapped = self.situation.configuration.with_(fitted={slot: instance})
        cure, finished = self._seating(slot), 1.0
        for act in acts:
            if isinstance(act, Refresh):
                swapped = swapped.with_(recognised={(slot, instance)})
                cure = cure + model.refresh_cures[act.name]
                finished *= self._finishing(act.name)
        duty = fault_failing(model, ensemble, swapped, model.complaint)
        donor = instance_failing(model, ensemble, swapped, slot)
        inside = members_present(model, ensemble, swapped)
        stays = np.where(duty > 0.0, 1.0 - all_cured(self._of_members(cure), inside), 0.0)
        missed = finished * stays * self._passing(1.0 - (1.0 - duty) * (1.0 - donor))
        ends = missed + finished * (1.0 - stays) * self._passing(donor)
        late = self._missed * missed / np.maximum(ends, 1e-300)
        price = self._price((*acts, Fit(slot, ORIGINAL), Check(model.complaint)))
        needless = np.where(self._bad(slot), 0.0, model.pack.costs.needless)
        going_back = price[0] - self._price(acts)[0]
        keeping = np.maximum(self._closing(swapped) + late + needless - going_back, 0.0)
        refitting = late + self._fitting_anew(slot, swapped)
        refreshes = any(isinstance(act, Refresh) for act in acts)
        if not (refreshes and self._late(slot)) and not needs_proof(model, self.situation, slot):
            self._add([name], _one(price), ends[None, :], keeping[None, :])
        self._add([f"{name}+refit"], _one(price), ends[None, :], refitting[None, :])

    def _late(self, slot: str) -> bool:
        return self.model.pack.modules[slot].recognised == "after refresh"

    def _fitting_anew(self, slot: str, swapped: Configuration) -> FloatArray:
        """Return what is still to pay after a swap that worked, once the original is back."""
        anew, _ = self._fitting(slot, swapped.fitted[slot])
        unseen = self._passing(self._fault) ** (1 + VERIFICATIONS) * self._missed
        bad = unseen + anew + self._closing(swapped)
        return np.where(self._bad(slot), bad, self._closing(self._home))

    def _bad(self, slot: str) -> NDArray[np.bool_]:
        """Return where the original of a module is bad."""
        return has_active(self.model, self._ensemble, self.model.module_faults[slot])


def work_pairs(model: Model, kept: Sequence[int]) -> list[tuple[int, int]]:
    """Return pairs of work that cure both members of one of the likeliest pairs of faults."""
    useful = set(kept)
    found: dict[tuple[int, int], None] = {}
    for pair in [chosen for chosen in model.sets.several if len(chosen) == 2][:_PAIRS_PLANNED]:
        first, second = (_best_work(model, candidate, useful) for candidate in pair)
        if first is not None and second is not None and first != second:
            found[min(first, second), max(first, second)] = None
    return list(found)


def _best_work(model: Model, candidate: int, useful: set[int]) -> int | None:
    """Return the work that cures a candidate most surely, None if none does."""
    chances = model.cure_chances[:, candidate]
    cures = [row for row in np.flatnonzero(chances > 0.0).tolist() if row in useful]
    return max(cures, key=lambda row: float(chances[row]), default=None)


def _one(price: tuple[float, int]) -> tuple[FloatArray, IntArray]:
    return np.array([price[0]]), np.array([price[1]], dtype=np.intp)


def affordable_work(model: Model, situation: Situation, charges: FloatArray) -> NDArray[np.bool_]:
    """Return which work the customer's ceiling still allows, shape (W,).

    Work that did not help is done again on the shop's own account.
    """
    ceiling = model.limits.ceiling
    if ceiling is None:
        return np.ones(charges.shape, dtype=np.bool_)
    again = done_before(situation.tried)
    own = [row for row, item in enumerate(model.work) if item.id in again] if again else []
    affordable = np.asarray(situation.spent + charges <= ceiling)
    affordable[own] = True
    return affordable


def handing_over(model: Model, ensemble: Ensemble, configuration: Configuration) -> FloatArray:
    """Return the cost of handing the device over as it is, in each world, shape (R,)."""
    price = model.tariff.price(handover_cost(model, configuration))
    wrong = fault_failing(model, ensemble, configuration, model.complaint)
    needless = np.zeros(len(ensemble))
    for slot in model.slots:
        wrong = np.maximum(wrong, instance_failing(model, ensemble, configuration, slot))
        if configuration.fitted[slot] != ORIGINAL:
            was_bad = model.sets.any_member(model.module_faults[slot])
            needless += ~was_bad[ensemble.columns[HYPOTHESIS]]
    costs = model.pack.costs
    return np.asarray(price + costs.comeback * (wrong > 0.0) + costs.needless * needless)
