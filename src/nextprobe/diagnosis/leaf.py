"""The plan table of a situation: every step that may end the job, world by world."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.board import FaultKind
from nextprobe.diagnosis.acts import DONOR, ORIGINAL, Act, Check, Fit, Refresh
from nextprobe.diagnosis.costs import DEPTHS, acts_cost, depth_of, handover_cost, way_in
from nextprobe.diagnosis.functioning import fault_failing, instance_failing
from nextprobe.diagnosis.ids import named
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import acts_of, refresh_options, restored, trial_options
from nextprobe.diagnosis.situation import ACTIVE, HYPOTHESIS, Situation
from nextprobe.packs.schema import Access
from nextprobe.planning import Configuration, PlanTable

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass
class _Rows:
    """A plan table in the making; each entry is a block of steps."""

    names: list[str] = field(default_factory=list)
    prices: list[FloatArray] = field(default_factory=list)
    levels: list[IntArray] = field(default_factory=list)
    ends: list[FloatArray] = field(default_factory=list)
    penalties: list[FloatArray] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Grouping:
    """Worlds that no plan can tell apart, put together.

    Parameters
    ----------
    first : ndarray of int, shape (G,)
        One world of each group.
    order : ndarray of int, shape (R,)
        Worlds sorted by group.
    starts : ndarray of int, shape (G,)
        Where each group starts in `order`.
    """

    first: IntArray
    order: IntArray
    starts: IntArray

    def sums(self, weights: FloatArray) -> FloatArray:
        """Return sums over groups, shape (..., G), of weights of worlds, (..., R)."""
        return np.asarray(np.add.reduceat(weights[..., self.order], self.starts, axis=-1))


def grouping(model: Model, ensemble: Ensemble) -> Grouping:
    """Group the worlds of an ensemble by class of fault and by everything drawn once."""
    code = model.world_class[ensemble.columns[HYPOTHESIS]]
    for name, column in ensemble.columns.items():
        if name != HYPOTHESIS:
            code = code * (int(column.max(initial=0)) + 1) + column
    order = np.argsort(code, kind="stable")
    ranked = code[order]
    starts = np.flatnonzero(np.concatenate(([True], ranked[1:] != ranked[:-1])))
    return Grouping(order[starts], order, starts)


class Leaf:
    """Builds the plan table of one situation.

    Parameters
    ----------
    model : Model
    situation : Situation
    work : (ndarray, ndarray), shape (W,) each
        Prices and levels of :func:`~nextprobe.diagnosis.costs.work_prices`.

    Attributes
    ----------
    groups : Grouping
        How the worlds of the situation map to those of the table.
    table : PlanTable
    """

    def __init__(
        self, model: Model, situation: Situation, work: tuple[FloatArray, IntArray]
    ) -> None:
        self.model = model
        self._work_prices = work
        self.situation = situation
        self.groups = grouping(model, situation.ensemble)
        self._ensemble = situation.ensemble.selected(self.groups.first)
        self._hypothesis = self._ensemble.columns[HYPOTHESIS]
        self._active = self._ensemble.columns[ACTIVE] == 1
        self._comeback = model.pack.costs.comeback
        self._home = situation.configuration.with_(
            fitted=dict.fromkeys(situation.configuration.fitted, ORIGINAL)
        )
        self._fault = fault_failing(model, self._ensemble, self._home, model.complaint)
        self._rows = _Rows()
        self.table = self._table()

    def _table(self) -> PlanTable:
        if not self.situation.working:
            self._add_work()
            self._add_refreshes()
        self._add_trials()
        rows, worlds = self._rows, len(self._hypothesis)
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
        return np.array(
            [self.model.tariff.price(way_in(pack, configuration, level)) for level in DEPTHS]
        )

    def _stopping(self) -> FloatArray:
        """Return the cost of giving up now, or of handing over if it works."""
        costs = self.model.pack.costs
        giving_up = np.full(len(self._hypothesis), min(costs.lost_job, costs.escalation))
        if not self.situation.working:
            return giving_up
        ensemble, configuration = self._ensemble, self.situation.configuration
        return np.minimum(giving_up, handing_over(self.model, ensemble, configuration))

    def _price(self, acts: tuple[Act, ...]) -> tuple[float, int]:
        """Return the price of acts once the device is open for them, and how far that is."""
        inside = self.situation.configuration.with_(opened=Access.BOARD_OUT.value)
        cost, _ = acts_cost(self.model, inside, acts)
        return self.model.tariff.price(cost), max(depth_of(self.model.pack, a) for a in acts)

    def _closing(self, configuration: Configuration) -> float:
        return self.model.tariff.price(handover_cost(self.model, configuration))

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
        """Add steps that take the fault away with some chance, shape (N, G), and are checked."""
        false_fail = self.model.function.check.false_fail
        gone = np.where(self._active, cure, 1.0)
        cured = gone * (1.0 - false_fail)
        missed = (1.0 - gone) * self._passing(self._fault)
        ends = cured + missed
        late = self._comeback * missed / np.maximum(ends, 1e-300)
        self._add(names, price, ends, self._closing(self._home) + late)

    def _add_work(self) -> None:
        model = self.model
        cure = model.cure_chances[:, self._hypothesis]
        useful = (cure * self._active > 0.0).any(axis=1)
        kept = [
            row for row in np.flatnonzero(useful) if model.work[row].id not in self.situation.tried
        ]
        if not kept:
            return
        prices, levels = self._work_prices
        home = restored(self.situation.configuration)
        extra = self._price(home)[0] if home else 0.0
        self._add_cures(
            [model.work[row].id for row in kept],
            (prices[kept] + extra, levels[kept]),
            cure[kept],
        )

    def _add_refreshes(self) -> None:
        for option in refresh_options(self.model, self.situation):
            if not self.model.limits.admits(option):
                continue
            acts = acts_of(self.model, self.situation, option.id)
            name = next(act.name for act in acts if isinstance(act, Refresh))
            success = self.model.pack.refreshes[name].success
            cure = self.model.refresh_cures[name][self._hypothesis] * success
            self._add_cures([option.id], _one(self._price(acts)), cure[None, :])

    def _add_trials(self) -> None:
        for option in trial_options(self.model, self.situation):
            if not self.model.limits.admits(option):
                continue
            acts = acts_of(self.model, self.situation, option.id)
            _, slot_word, form = option.id.split(":")
            slot = named(self.model.pack.modules, slot_word)
            if form == "refit":
                cure = self._seating(slot)
                self._add_cures([option.id], _one(self._price(acts)), cure[None, :])
            elif not self.situation.working:
                self._add_swap(option.id, slot, acts)

    def _seating(self, slot: str) -> FloatArray:
        """Return the chance that plugging in anew cures, in each world."""
        seat = self.model.of_kind(FaultKind.SEATING, self.model.seat_of(slot))
        return np.where(seat[self._hypothesis], self.model.pack.work["reseat"].success, 0.0)

    def _add_swap(self, name: str, slot: str, acts: tuple[Act, ...]) -> None:
        """Add a trial twice: keep what is fitted if it works, or refit the original then."""
        model, ensemble = self.model, self._ensemble
        swapped = self.situation.configuration.with_(fitted={slot: DONOR})
        cure = self._seating(slot)
        for act in acts:
            if isinstance(act, Refresh):
                swapped = swapped.with_(recognised={(slot, DONOR)})
                cure = cure + model.refresh_cures[act.name][self._hypothesis]
        fault = fault_failing(model, ensemble, swapped, model.complaint) * (1.0 - cure)
        fails = 1.0 - (1.0 - fault) * (1.0 - instance_failing(model, ensemble, swapped, slot))
        ends = self._passing(fails)
        late = self._comeback * np.where(fault > 0.0, self._passing(fails) / ends, 0.0)
        price = self._price(acts)
        keeping = self._closing(swapped) + late
        refitting = late + self._refitting(slot, swapped)
        self._add(
            [name, f"{name}+refit"],
            (np.full(2, price[0]), np.full(2, price[1], dtype=np.intp)),
            np.stack([ends, ends]),
            np.stack([keeping, refitting]),
        )

    def _refitting(self, slot: str, swapped: Configuration) -> FloatArray:
        """Return what is still to pay after a swap that worked, if the original is tried again."""
        model = self.model
        check = Check(model.complaint)
        refit, _ = self._price((Fit(slot, ORIGINAL), check))
        anew, _ = self._price((Fit(slot, DONOR), check))
        bad = model.module_faults[slot][self._hypothesis] & self._active
        return refit + np.where(bad, anew + self._closing(swapped), self._closing(self._home))


def _one(price: tuple[float, int]) -> tuple[FloatArray, IntArray]:
    return np.array([price[0]]), np.array([price[1]], dtype=np.intp)


def handing_over(model: Model, ensemble: Ensemble, configuration: Configuration) -> FloatArray:
    """Return the cost of handing the device over as it is, in each world, shape (R,)."""
    price = model.tariff.price(handover_cost(model, configuration))
    wrong = fault_failing(model, ensemble, configuration, model.complaint)
    for slot in model.slots:
        wrong = np.maximum(wrong, instance_failing(model, ensemble, configuration, slot))
    return np.asarray(price + model.pack.costs.comeback * (wrong > 0.0))
