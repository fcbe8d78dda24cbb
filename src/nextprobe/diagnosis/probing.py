"""Readings as options: single measurements in every meter mode, and whole runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.board import GROUND, FaultKind, MeterMode
from nextprobe.diagnosis.costs import act_cost, charged, made_ready, meter_cost, way_in
from nextprobe.diagnosis.coverage import connectors_of
from nextprobe.diagnosis.functioning import active_sets, candidate_chances
from nextprobe.diagnosis.ids import PROBE
from nextprobe.diagnosis.measuring import Measurement, measurement_from_id, over_bridge
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.reading_cautions import reading_cautions
from nextprobe.diagnosis.run_lists import pads, runs
from nextprobe.diagnosis.running import (
    BIN_WORDS,
    SOMETHING_ELSE,
    Run,
    bin_chances,
)
from nextprobe.diagnosis.situation import Situation
from nextprobe.planning import Cost, Option

FloatArray = NDArray[np.float64]

_TOUCHES_OFFERED = 6
_FURTHER_RUNS = 3
# What tells less than this is left to a run, or left out [nat].
_WORTH_A_TOUCH = 0.03
# Measurements in other modes are computed where a fault that they are about is this likely, and
# at most so many at a time.
_WORTH_A_TABLE = 0.004
_COMPUTED = 10
_OUTCOMES_KEPT = 16
_RUNS_KEPT = 60


class Probing:
    """What readings can tell in one model; nothing where there is no board.

    Parameters
    ----------
    model : Model
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self._left: dict[tuple[str, frozenset[str]], Run | None] = {}
        self._known: dict[tuple[str, frozenset[str]], FloatArray] = {}

    def run_now(self, state: Situation, name: str) -> Run | None:
        """Return a run over the points that have not been read since the last work.

        Points beside a part that has been taken off are left to single readings.
        """
        run = self.runs[name]
        gone = state.configuration.removed
        read = frozenset(
            item.place
            for item in run.measurements
            if item.id in state.tried or self._beside(item, gone)
        )
        if (name, read) not in self._left:
            if len(self._left) >= _RUNS_KEPT:
                self._left.clear()
            self._left[name, read] = run.without(read)
        return self._left[name, read]

    def _beside(self, item: Measurement, removed: frozenset[str]) -> bool:
        """Tell whether a measurement touches a net of a part that has been taken off."""
        board = self.model.board
        if board is None or not removed:
            return False
        parts = [board.by_reference[name] for name in removed if name in board.by_reference]
        nets = {pin.net for part in parts for pin in part.pins}
        return board.net_of(item.point) in nets

    @cached_property
    def runs(self) -> dict[str, Run]:
        """Probing runs by id."""
        expectations = self.model.expectations
        if expectations is None:
            return {}
        return {run.id: run for run in runs(expectations, self._connectors)}

    @property
    def _connectors(self) -> tuple[str, ...]:
        return connectors_of(self.model.pack, self.model.function)

    @property
    def plain_runs(self) -> dict[str, Run]:
        """Runs in diode mode: the only ones that plans count on before they are offered."""
        return {name: run for name, run in self.runs.items() if _is_plain(run.measurements[0])}

    @cached_property
    def touches(self) -> dict[str, Measurement]:
        """Single measurements by id: points of runs, pads, live rails, and across bridges."""
        expectations = self.model.expectations
        if expectations is None:
            return {}
        found = [item for run in self.runs.values() for item in run.measurements]
        covered = expectations.covered
        found += pads(expectations, self._connectors)
        found += [
            measurement_from_id(f"{PROBE}:{rail}:volts")
            for rail in expectations.rails
            if rail in covered
        ]
        bridges = self.model.of_kind(FaultKind.BRIDGE)
        found += [over_bridge(self.model.listed[row].fault) for row in np.flatnonzero(bridges)]
        return {item.id: item for item in found}

    def measured(self, option: str) -> Measurement:
        """Return the measurement that an option names."""
        return self.touches.get(option) or measurement_from_id(option, self.model.board)

    @cached_property
    def _plain(self) -> tuple[list[str], FloatArray, FloatArray]:
        """Ids in diode mode, chance of each word, (N, 5, S + 1), and its entropy, (N, S + 1)."""
        found = (item for run in self.plain_runs.values() for item in run.measurements)
        names = list(dict.fromkeys(item.id for item in found))
        if not names:
            return names, np.zeros((0, 5, 1)), np.zeros((0, 1))
        chances = np.stack([self.chances(name) for name in names])
        return names, chances, _entropy(chances)

    def _computed(self, item: Measurement) -> FloatArray:
        assert self.model.expectations is not None
        return bin_chances(self.model.expectations.at(item.point, item.setup)).T

    def chances(self, option: str, removed: frozenset[str] = frozenset()) -> FloatArray:
        """Return the chance of each word under each candidate, shape (5, H + 1)."""
        item = self.measured(option)
        if not self._beside(item, removed):
            removed = frozenset()
        if (option, removed) not in self._known:
            self._known[option, removed] = self._computed(item.without(removed))
        return self._known[option, removed]

    def owns(self, option: str) -> bool:
        """Tell whether an option is a reading or a run."""
        return option.startswith(("probe:", "run:"))

    def options(self, state: Situation) -> list[Option]:
        """Return the runs, and the single measurements that tell most."""
        posterior = self._posterior(state)
        left = self._runs_left(state, posterior)
        found = [
            Option(run.id, run.title, "run", tuple(run.points), cautions=self._cautions(run))
            for run in left
        ]
        return found + [self._reading(name) for name in self._telling(state, posterior)]

    def _cautions(self, run: Run) -> tuple[str, ...]:
        return reading_cautions(self.model.pack, run.measurements[0])

    def _reading(self, name: str) -> Option:
        item = self.touches[name]
        return Option(name, item.title, "reading", cautions=reading_cautions(self.model.pack, item))

    def _runs_left(self, state: Situation, posterior: FloatArray) -> list[Run]:
        """Return the runs in diode mode, and of those in other modes the few that tell most."""
        left = [run for run in (self.run_now(state, name) for name in self.runs) if run]
        further = [run for run in left if not _is_plain(run.measurements[0])]
        likely = self._about(state, {run.id: run.measurements for run in further})
        told = {
            run.id: _told(run.likelihoods[None], run.noise[None], posterior)[0]
            for run in further
            if likely[run.id] > _WORTH_A_TABLE
        }
        best = sorted(told, key=lambda name: -told[name])[:_FURTHER_RUNS]
        chosen = [name for name in best if told[name] > _WORTH_A_TOUCH]
        return [run for run in left if run not in further or run.id in chosen]

    def _about(
        self, state: Situation, found: Mapping[str, Sequence[Measurement]]
    ) -> dict[str, float]:
        """Return how likely a fault is that measurements are about, before they are computed."""
        expectations = self.model.expectations
        if expectations is None:
            return {}
        chances = candidate_chances(self.model, state.ensemble)
        return {
            name: float(sum(chances @ expectations.about(item) for item in items))
            for name, items in found.items()
        }

    def _telling(self, state: Situation, posterior: FloatArray) -> list[str]:
        names, chances, noise = self._plain
        others = {
            name: (item,)
            for name, item in self.touches.items()
            if name not in names and name not in state.tried
        }
        likely = self._about(state, others)
        chosen = sorted(others, key=lambda name: -likely[name])[:_COMPUTED]
        chosen = [name for name in chosen if likely[name] > _WORTH_A_TABLE]
        told = dict(zip(names, _told(chances, noise, posterior), strict=True)) if names else {}
        if chosen:
            stacked = np.stack([self.chances(name) for name in chosen])
            told |= zip(chosen, _told(stacked, _entropy(stacked), posterior), strict=True)
        order = sorted(told, key=lambda name: -told[name])
        fresh = [name for name in order if name not in state.tried]
        return [name for name in fresh[:_TOUCHES_OFFERED] if told[name] > _WORTH_A_TOUCH]

    def _posterior(self, state: Situation) -> FloatArray:
        """Return the belief over what is left of the faults, none last, shape (S + 1,)."""
        rows = active_sets(self.model, state.ensemble)
        sums = np.bincount(rows, state.ensemble.probabilities, len(self.model.sets) + 1)
        return sums.astype(np.float64)

    def cost(self, state: Situation, option: str) -> Cost:
        """Return the expected cost of a reading or a run, which may stop early."""
        run = self.run_now(state, option) if option in self.runs else None
        if run is None:
            act = self.measured(option).act()
            return act_cost(self.model, state.configuration, act)
        settings = self.model.pack.readings
        opening = way_in(self.model.pack, state.configuration, settings.access)
        ready = meter_cost(self.model.pack, state.configuration, run.measurements[0].act())
        expected = float((run.reached @ self._posterior(state)).sum())
        minutes = settings.minutes_run + expected * settings.minutes_per_pin
        return opening + ready + Cost(minutes * 60.0, minutes * 60.0)

    def likelihoods(self, state: Situation, option: str) -> FloatArray:
        """Return the chance of each outcome that is kept apart in each world, shape (K, R)."""
        return self._labelled(state, option)[1]

    def _labelled(self, state: Situation, option: str) -> tuple[list[str], FloatArray]:
        rows = active_sets(self.model, state.ensemble)
        run = self.run_now(state, option) if option in self.runs else None
        if run is None:
            chances = self.chances(option, state.configuration.removed)
            return list(BIN_WORDS), chances[:, rows]
        chance = run.likelihoods @ self._posterior(state)
        kept = np.sort(np.argsort(-chance, kind="stable")[:_OUTCOMES_KEPT])
        named = run.likelihoods[kept][:, rows]
        rest = np.clip(1.0 - named.sum(axis=0), 0.0, 1.0)
        labels = [run.labels[index] for index in kept]
        return [*labels, SOMETHING_ELSE], np.vstack([named, rest])

    def outcomes(self, state: Situation, option: str) -> Sequence[Branch[Situation]]:
        """Return what a reading or a run may show."""
        labels, likelihoods = self._labelled(state, option)
        weights = state.ensemble.probabilities
        run = self.runs.get(option)
        item = run.measurements[0] if run is not None else self.measured(option)
        configuration = made_ready(self.model.pack, state.configuration, item.act())
        spent = state.spent + charged(self.model, self.cost(state, option))
        done = replace(state, configuration=configuration, spent=spent).with_tried(
            option, *self._ids(option)
        )
        branches = []
        for label, likelihood in zip(labels, likelihoods, strict=True):
            probability = float(weights @ likelihood)
            if probability > 1e-9:
                possible = likelihood > 0.0
                with np.errstate(divide="ignore"):
                    seen = state.ensemble.condition(np.log(likelihood)).selected(possible)
                branches.append(Branch(label, probability, replace(done, ensemble=seen)))
        return branches

    def done(self, state: Situation, option: str) -> Situation:
        """Return the state in which a reading or a run has been made: runs touch the rest."""
        return state.with_tried(option, *self._ids(option))

    def _ids(self, option: str) -> tuple[str, ...]:
        """Return the ids of the readings of a run."""
        run = self.runs.get(option)
        return tuple(item.id for item in run.measurements) if run is not None else ()


def _is_plain(item: Measurement) -> bool:
    return item.setup.mode is MeterMode.DIODE and item.setup.clamped == GROUND


def _entropy(chances: FloatArray) -> FloatArray:
    """Return the entropy over outcomes, shape (N, H), of chances of shape (N, K, H) [nat]."""
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = np.where(chances > 0.0, chances * np.log(chances), 0.0)
    return np.asarray(-terms.sum(axis=1))


def _told(chances: FloatArray, noise: FloatArray, posterior: FloatArray) -> FloatArray:
    """Return the mutual information between outcome and candidate [nat].

    It is what is uncertain about the outcome, less what would be so if the fault were known
    (Shannon 1948, A Mathematical Theory of Communication, sec. 12).

    Parameters
    ----------
    chances : ndarray, shape (N, K, H)
    noise : ndarray, shape (N, H)
        Entropy of the outcome under each candidate.
    posterior : ndarray, shape (H,)

    Returns
    -------
    ndarray, shape (N,)
    """
    outcome = chances @ posterior
    return np.asarray(_entropy(outcome[:, :, None])[:, 0] - noise @ posterior)
