"""Laws of readings that share deviations, whatever they are."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from joint_cases import some_model, some_stray

from nextprobe.belief import (
    JointModel,
    JointState,
    SharedDeviation,
    Stray,
    enumerate_strays,
    filter_strays,
    joint_log_densities,
    joint_posterior,
)

untimed = settings(deadline=None, max_examples=25)


@st.composite
def cases(draw):
    """Return a model, what was seen with one over-range at most, chances to stray, and chance."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    groups, readings = draw(st.integers(1, 4)), draw(st.integers(1, 6))
    model = some_model(rng, groups, readings, draw(st.integers(0, 4)), over=0.1)
    values = list(rng.uniform(0.4, 0.65, readings))
    if draw(st.booleans()):
        values[draw(st.integers(0, readings - 1))] = None
    return model, values, some_stray(rng, groups, readings), rng


def shuffled(case):
    model, values, stray, rng = case
    order = rng.permutation(len(values))
    return model.take(order), [values[i] for i in order], stray.take(order), order


def close(wanted):
    return pytest.approx(wanted, rel=1e-9, abs=1e-9)


@untimed
@given(cases())
def test_the_order_of_readings_does_not_matter(case):
    model, values, stray, _ = case
    other, others, stray_too, order = shuffled(case)
    assert joint_log_densities(other, others) == close(joint_log_densities(model, values))
    here, there = (
        enumerate_strays(model, values, stray),
        enumerate_strays(other, others, stray_too),
    )
    assert there.log_density == close(here.log_density)
    assert there.log_rest_bound == close(here.log_rest_bound)
    assert there.strayed == close(here.strayed[:, order])


@untimed
@given(cases())
def test_one_by_one_is_the_batch_in_any_order_of_numbers(case):
    model, values, _, rng = case
    numbers = [i for i, value in enumerate(values) if value is not None]
    state = JointState.before(model.groups, model.shared)
    for column in rng.permutation(numbers).astype(int):
        state = state.after(model, int(column), values[column])
    part = model.take(numbers)
    whole = joint_posterior(part, [values[i] for i in numbers])
    assert state.log_density == close(whole.log_density)
    assert state.mean == close(whole.mean)
    for here, there in zip(state.predicted(model), whole.predicted(model), strict=True):
        assert here == close(there)


@untimed
@given(cases())
def test_a_reading_that_says_nothing_changes_nothing(case):
    model, values, stray, _ = case
    shared = model.shared
    more = SharedDeviation(
        np.append(shared.offset, 0.0),
        np.vstack([shared.factor, np.ones(shared.factor.shape[1])]),
        np.append(shared.own, 0.0),
    )

    def wider(array, value):
        return np.hstack([array, np.full((model.groups, 1), value)])

    wide = JointModel(
        more,
        wider(model.mean, 0.0),
        wider(model.inherit, 1.0),
        wider(model.deviation, 1e9),
        over=wider(model.over, False),
        limit=np.append(model.limit, 1e12),
    )
    # The same under all groups: the density of a normal of that width about zero at its middle.
    flat = -0.5 * np.log(2.0 * np.pi) - np.log(1e9)
    before, after = joint_log_densities(model, values), joint_log_densities(wide, [*values, 0.0])
    assert after == close(before + flat)
    chances = Stray(wider(stray.chance, 0.0), wider(stray.log_density, 0.0))
    before = enumerate_strays(model, values, stray)
    after = enumerate_strays(wide, [*values, 0.0], chances)
    assert after.log_density == close(before.log_density + flat)
    assert after.strayed[:, :-1] == close(before.strayed)


@untimed
@given(cases())
def test_renaming_groups_permutes_what_is_found(case):
    model, values, stray, rng = case
    order = rng.permutation(model.groups)
    renamed, strays = model.select(order), stray.select(order)
    assert joint_log_densities(renamed, values) == close(joint_log_densities(model, values)[order])
    here = enumerate_strays(model, values, stray)
    there = enumerate_strays(renamed, values, strays)
    assert there.log_kept == close(here.log_kept[order])
    here, there = filter_strays(model, values, stray), filter_strays(renamed, values, strays)
    assert there.log_density == close(here.log_density[order])
    assert there.strayed_chance == close(here.strayed_chance[order])


@untimed
@given(cases())
def test_branches_are_a_lower_bound_that_grows_with_their_number(case):
    model, values, stray, _ = case
    numbers = [i for i, value in enumerate(values) if value is not None]
    model, stray, values = model.take(numbers), stray.take(numbers), [values[i] for i in numbers]
    full = enumerate_strays(model, values, stray, len(values))
    everything = filter_strays(model, values, stray, 2 ** len(values), 0.0)
    assert everything.log_density == close(full.log_kept)
    assert everything.strayed_chance == close(full.strayed)
    one = filter_strays(model, values, stray, 1)
    assert (one.log_density <= full.log_kept + 1e-9).all()
    assert one.group.tolist() == list(range(model.groups))


@untimed
@given(cases())
def test_kept_and_rest_bracket_the_full_sum(case):
    model, values, stray, _ = case
    full = enumerate_strays(model, values, stray, len(values)).log_kept
    for most in range(len(values)):
        found = enumerate_strays(model, values, stray, most)
        assert (found.log_kept <= full + 1e-9).all()
        assert (full <= np.logaddexp(found.log_kept, found.log_rest_bound) + 1e-9).all()


@untimed
@given(cases())
def test_more_readings_never_widen_a_prediction_of_numbers(case):
    model, values, _, _ = case
    state = JointState.before(model.groups, model.shared)
    deviation = state.predicted(model)[1]
    for column, value in enumerate(values):
        state = state.after(model, column, value)
        after = state.predicted(model)[1]
        assert (after <= deviation * (1.0 + 1e-9)).all()
        deviation = after
