"""Readings of which many may stray, followed in step."""

import numpy as np
import pytest
from joint_cases import some_model, some_stray

from nextprobe.belief import (
    JointBranches,
    JointModel,
    JointState,
    SharedDeviation,
    Stray,
    enumerate_strays,
    filter_strays,
    joint_log_densities,
)
from nextprobe.errors import MisuseError


def residue(rng, readings, lanes, chance, to_anything):
    """Lanes that share 34 mV, residue that lowers readings or makes them anything up to 2 V."""
    factor = np.zeros((readings, lanes + 1))
    factor[:, 0] = 0.015
    factor[np.arange(readings), 1 + np.arange(readings) % lanes] = 0.03
    shared = SharedDeviation(np.zeros(readings), factor, np.full(readings, 0.002**2))
    model = JointModel(shared, np.full((1, readings), 0.5), 1.0, 0.003, limit=2.0)
    values = 0.5 + factor @ rng.normal(size=lanes + 1) + 0.0036 * rng.normal(size=readings)
    strays = rng.random(readings) < chance
    top = 2.0 if to_anything else 0.5
    values[strays] = rng.uniform(0.0, top, strays.sum())
    density = np.where(values <= top, -np.log(top), -np.inf)
    return model, list(values), Stray(np.full((1, readings), chance), density[None])


@pytest.mark.parametrize("beyond", [None, 4])
def test_with_room_for_all_it_is_the_full_sum(beyond):
    rng = np.random.default_rng(1)
    model, stray = some_model(rng, 6, 5, 3, over=0.15), some_stray(rng, 6, 5)
    values = [None if i == beyond else value for i, value in enumerate(rng.uniform(0.45, 0.55, 5))]
    full = enumerate_strays(model, values, stray, 5)
    found = filter_strays(model, values, stray, most=32, least=0.0)
    assert found.log_density == pytest.approx(full.log_kept, abs=1e-9)
    assert found.strayed_chance == pytest.approx(full.strayed, abs=1e-9)


@pytest.mark.parametrize(
    ("chance", "most", "worst"), [(0.01, 8, 0.01), (0.15, 8, 0.1), (0.5, 8, 0.6), (0.5, 32, 0.1)]
)
@pytest.mark.parametrize("to_anything", [False, True])
@pytest.mark.parametrize("lanes", [2, 5])
def test_a_few_branches_come_close_to_all_1024(chance, most, worst, to_anything, lanes):
    rng = np.random.default_rng(2)
    for _ in range(10):
        case = residue(rng, 10, lanes, chance, to_anything)
        full = enumerate_strays(*case, 10).log_kept[0]
        found = filter_strays(*case, most).log_density[0]
        assert full - worst < found < full + 1e-9


def test_where_many_stray_two_are_far_too_few():
    # The reason for branches: a sum that stops at two must call the rest of the strays sound.
    rng = np.random.default_rng(3)
    case = residue(rng, 10, 2, 0.5, True)
    full = enumerate_strays(*case, 10)
    assert full.strayed[0].sum() > 3.0
    assert enumerate_strays(*case, 2).log_kept[0] < full.log_kept[0] - 100.0
    assert enumerate_strays(*case, 2).vacuous[0]


def test_matching_moments_is_coarser_than_branches():
    rng = np.random.default_rng(4)
    matched, followed = [], []
    for _ in range(40):
        model, values, stray = residue(rng, 8, 2, 0.3, False)
        full = enumerate_strays(model, values, stray, 8).log_kept[0]
        state = JointState.before(1, model.shared)
        for column, value in enumerate(values):
            state = state.after(model, column, value, stray)
        matched.append(abs(state.log_density[0] - full))
        followed.append(abs(filter_strays(model, values, stray).log_density[0] - full))
    assert np.median(matched) < 1.5
    assert np.median(followed) < 0.01
    assert max(followed) < max(matched)


def test_matched_moments_of_one_reading_are_those_of_the_mixture():
    shared = SharedDeviation(np.zeros(2), np.array([[0.03], [0.03]]), np.zeros(2))
    model = JointModel(shared, np.full((1, 2), 0.5), 1.0, 0.01, limit=2.0)
    stray = Stray.slips(1, np.full(2, 0.3), np.log(3.0))
    after = JointState.before(1, shared).after(model, 0, 0.56, stray)
    branches = JointBranches.before(1, shared).after(model, 0, 0.56, stray)
    assert len(branches.group) == 2
    assert after.log_density == pytest.approx(branches.log_density)
    for here, there in zip(after.predicted(model), branches.predicted(model), strict=True):
        assert here == pytest.approx(there, rel=1e-12)


def test_what_branches_predict_keeps_both_ways_open():
    shared = SharedDeviation(np.zeros(2), np.array([[0.03], [0.03]]), np.zeros(2))
    model = JointModel(shared, np.full((1, 2), 0.5), 1.0, 0.001, limit=2.0)
    stray = Stray.slips(1, np.full(2, 0.2), np.log(3.0))
    belief = JointBranches.before(1, shared).after(model, 0, 0.58, stray)
    mean, deviation = belief.state.predicted(model.select(belief.group))
    held = np.argmin(belief.strayed[:, 0])
    assert mean[held, 1] == pytest.approx(0.58, abs=1e-3)
    assert deviation[held, 1] < 0.002
    assert mean[1 - held, 1] == pytest.approx(0.5)
    assert belief.shares.sum() == pytest.approx(1.0)
    centre, spread = belief.predicted(model)
    assert 0.5 < centre[0, 1] < 0.58
    assert spread[0, 1] > deviation[held, 1]


def test_never_straying_keeps_one_branch_and_the_exact_density():
    rng = np.random.default_rng(5)
    model = some_model(rng, 4, 6, 2, over=0.1)
    values = list(rng.uniform(0.4, 0.6, 6))
    found = filter_strays(model, values, Stray.never(4, 6))
    assert found.group.tolist() == [0, 1, 2, 3]
    wanted = joint_log_densities(model, values)
    assert found.log_density == pytest.approx(wanted, abs=1e-9)
    assert np.isfinite(found.shares).all()
    assert not found.strayed_chance.any()


def test_misuse_is_refused():
    shared = SharedDeviation(np.zeros(1), np.ones((1, 1)), np.zeros(1))
    with pytest.raises(MisuseError, match="room"):
        JointBranches.before(1, shared, most=0)
    with pytest.raises(MisuseError, match="room"):
        JointBranches.before(1, shared, least=1.0)
