"""A step that shows something never makes the best plan dearer, its own price set aside."""

from __future__ import annotations

from functools import cache

import numpy as np
from diagnosis_cases import small_case
from hypothesis import given, settings
from hypothesis import strategies as st
from step_pack import rich

from nextprobe.diagnosis.problem import DiagnosisProblem
from nextprobe.planning import Option, best_plan

NAMES = (
    "probe:C1:capacitance",
    "probe:FB1:low-ohms",
    "probe:J1.5:ohms",
    "probe:SC_VDD12:volts",
    "run:J1:low-ohms",
    "run:J1:capacitance",
)


@cache
def _problem() -> DiagnosisProblem:
    return small_case(pack=rich(), board=True).problem


@settings(max_examples=8, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    seed=st.integers(0, 2**16),
    sharpness=st.floats(0.0, 6.0),
)
def test_the_gross_value_of_a_measurement_is_not_negative(
    name: str, seed: int, sharpness: float
) -> None:
    problem = _problem()
    state = problem.model.start()
    batch = problem.leaf_batch(state, Option(name, name, "reading"))
    assert batch is not None
    table = batch.table
    noise = np.random.default_rng(seed).normal(size=len(table.weights))
    tilt = np.exp(sharpness * noise)
    known = best_plan(table.with_weights(table.weights * tilt))
    seen = batch.weights * tilt
    costs = [best_plan(table.with_weights(row), [known.order]).value for row in seen]
    after = float(seen.sum(axis=1) @ np.array(costs) / seen.sum())
    assert after <= known.value * (1.0 + 1e-6)
