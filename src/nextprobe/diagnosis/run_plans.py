"""A probing run as one step of a plan: find the surprise, then repair what it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.costs import STEP_OVERHEAD
from nextprobe.diagnosis.grouping import Grouping
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.running import Run
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.planning import Cost, PlanTable, best_values

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class RunPlan:
    """What a run does to each class of faults.

    Parameters
    ----------
    name : str
        Id of the run.
    points : tuple of str
        What is touched.
    price : float
        Of a run to its end, the device being open [currency].
    ends : ndarray, shape (C,)
        Chance that a fault of the class makes a surprise.
    penalties : ndarray, shape (C,)
        What it then costs to finish the job [currency].
    """

    name: str
    points: tuple[str, ...]
    price: float
    ends: FloatArray
    penalties: FloatArray


def run_plan(
    model: Model, start: Situation, run: Run, table: PlanTable, groups: Grouping
) -> RunPlan:
    """Value a run by the plans that each of its surprises would lead to at the start.

    Parameters
    ----------
    start : Situation
        The job when the device came in.
    table, groups
        Plans without runs at the start, and how its worlds map to their rows.
    """
    hypothesis = start.ensemble.columns[HYPOTHESIS]
    surprises = run.likelihoods[:-1]
    joint = groups.sums(surprises[:, hypothesis] * start.ensemble.probabilities)
    values = best_values(joint, table)
    by_candidate = surprises[:, :-1]
    weight = by_candidate * model.whole_prior
    ends, costs = weight.sum(axis=0), values @ weight
    classes = int(model.world_class.max()) + 1
    prior = np.bincount(model.world_class, model.whole_prior, classes)
    surprising = np.bincount(model.world_class, ends, classes)
    cost = np.bincount(model.world_class, costs, classes)
    settings = model.pack.readings
    minutes = settings.minutes_run + len(run.points) * settings.minutes_per_pin
    seconds = minutes * 60.0 + STEP_OVERHEAD
    return RunPlan(
        run.id,
        run.points,
        model.tariff.price(Cost(seconds, seconds)),
        surprising / np.maximum(prior, 1e-300),
        cost / np.maximum(surprising, 1e-300),
    )
