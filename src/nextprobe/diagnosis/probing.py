"""Readings as options: single touches and whole runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.diagnosis.costs import charged, opened_for, way_in
from nextprobe.diagnosis.coverage import connectors_of
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.running import (
    BENCH,
    BIN_WORDS,
    SOMETHING_ELSE,
    Run,
    bin_chances,
    runs,
)
from nextprobe.diagnosis.situation import Situation
from nextprobe.planning import Cost, Option

FloatArray = NDArray[np.float64]

_TOUCHES_OFFERED = 6
# A single touch that tells less than this is left to a run [nat].
_WORTH_A_TOUCH = 0.03
_OUTCOMES_KEPT = 16
_RUNS_KEPT = 40
CAUTIONS = (
    "Unplug the battery and every charger before probing; let the rails discharge.",
    "Work earthed on a mat; a slipping probe can harm the board.",
)


class Probing:
    """What readings can tell in one model; nothing where there is no board.

    Parameters
    ----------
    model : Model
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self._left: dict[tuple[str, frozenset[str]], Run | None] = {}

    def run_now(self, state: Situation, name: str) -> Run | None:
        """Return a run over the points that have not been read since the last work."""
        run = self.runs[name]
        read = frozenset(point for point in run.points if f"probe:{point}" in state.tried)
        if (name, read) not in self._left:
            if len(self._left) >= _RUNS_KEPT:
                self._left.clear()
            self._left[name, read] = run.without(read)
        return self._left[name, read]

    @cached_property
    def runs(self) -> dict[str, Run]:
        """Probing runs by id."""
        expectations = self.model.expectations
        if expectations is None:
            return {}
        connectors = connectors_of(self.model.pack, self.model.function)
        return {run.id: run for run in runs(expectations, connectors)}

    @cached_property
    def touches(self) -> dict[str, FloatArray]:
        """Chance of each word at every point worth touching; shape (5, H + 1) by id."""
        expectations = self.model.expectations
        if expectations is None:
            return {}
        points = [point for run in self.runs.values() for point in run.points]
        return {
            f"probe:{point}": bin_chances(expectations.at(point, BENCH)).T
            for point in dict.fromkeys(points)
        }

    def owns(self, option: str) -> bool:
        """Tell whether an option is a reading or a run."""
        return option.startswith(("probe:", "run:"))

    def options(self, state: Situation) -> list[Option]:
        """Return the runs, and the single touches that tell most."""
        left = [self.run_now(state, name) for name in self.runs]
        found = [
            Option(run.id, run.title, "run", tuple(run.points), cautions=CAUTIONS)
            for run in left
            if run is not None
        ]
        return found + [
            Option(
                name, f"Probe {name.partition(':')[2]} in diode mode", "reading", cautions=CAUTIONS
            )
            for name in self._telling(state)
        ]

    def _telling(self, state: Situation) -> list[str]:
        fresh = [name for name in self.touches if name not in state.tried]
        if not fresh:
            return []
        posterior = self._posterior(state)
        stacked = np.stack([self.touches[name] for name in fresh])
        told = _information(stacked, posterior)
        order = np.argsort(-told, kind="stable")[:_TOUCHES_OFFERED]
        return [fresh[index] for index in order if told[index] > _WORTH_A_TOUCH]

    def _posterior(self, state: Situation) -> FloatArray:
        """Return the belief over what is left of the faults, none last, shape (S + 1,)."""
        rows = active_sets(self.model, state.ensemble)
        sums = np.bincount(rows, state.ensemble.probabilities, len(self.model.sets) + 1)
        return sums.astype(np.float64)

    def cost(self, state: Situation, option: str) -> Cost:
        """Return the expected cost of a reading or a run, which may stop early."""
        settings = self.model.pack.readings
        opening = way_in(self.model.pack, state.configuration, settings.access)
        run = self.run_now(state, option) if option in self.runs else None
        if run is not None:
            expected = float((run.reached @ self._posterior(state)).sum())
            minutes = settings.minutes_run + expected * settings.minutes_per_pin
        else:
            minutes = settings.minutes_known
        return opening + Cost(minutes * 60.0, minutes * 60.0)

    def likelihoods(self, state: Situation, option: str) -> FloatArray:
        """Return the chance of each outcome that is kept apart in each world, shape (K, R)."""
        return self._labelled(state, option)[1]

    def _labelled(self, state: Situation, option: str) -> tuple[list[str], FloatArray]:
        rows = active_sets(self.model, state.ensemble)
        run = self.run_now(state, option) if option in self.runs else None
        if run is None:
            return list(BIN_WORDS), self.touches[option][:, rows]
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
        settings = self.model.pack.readings
        configuration = opened_for(state.configuration, settings.access)
        spent = state.spent + charged(self.model, self.cost(state, option))
        done = replace(state, configuration=configuration, spent=spent).with_tried(
            option, *(f"probe:{p}" for p in self._points(option))
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
        """Return the state in which a run has been made; a single touch leaves the plans alone."""
        points = self._points(option)
        return state.with_tried(*(f"probe:{point}" for point in points)) if points else state

    def _points(self, option: str) -> tuple[str, ...]:
        return self.runs[option].points if option in self.runs else ()


def _information(chances: FloatArray, posterior: FloatArray) -> FloatArray:
    """Return the mutual information between outcome and candidate [nat].

    Parameters
    ----------
    chances : ndarray, shape (N, K, H)
    posterior : ndarray, shape (H,)

    Returns
    -------
    ndarray, shape (N,)
        Shannon 1948, A Mathematical Theory of Communication, sec. 12.
    """
    joint = chances * posterior
    outcome = joint.sum(axis=2, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(joint > 0.0, np.log(chances / outcome), 0.0)
    told: FloatArray = (joint * ratio).sum(axis=(1, 2))
    return told
