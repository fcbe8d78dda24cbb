"""The joint density of readings that share deviations: in batch, one by one, and the long way."""

import numpy as np
import pytest
from joint_cases import LIMIT, dense, log_normal, some_model

from nextprobe.belief import (
    JointModel,
    JointState,
    SharedDeviation,
    joint_log_densities,
    joint_posterior,
)
from nextprobe.errors import MisuseError

SIZES = [(7, 3, 11), (5, 5, 4), (4, 9, 6), (1, 1, 1), (3, 0, 2), (12, 4, 5)]


def one_by_one(model, values):
    state = JointState.before(model.groups, model.shared)
    for column, value in enumerate(values):
        state = state.after(model, column, value)
    return state


@pytest.mark.parametrize(("readings", "rank", "groups"), SIZES)
def test_batch_and_one_by_one_agree_with_the_dense_normal(readings, rank, groups):
    rng = np.random.default_rng(readings)
    model = some_model(rng, groups, readings, rank)
    values = rng.uniform(0.4, 0.6, readings)
    wanted = [log_normal(values, *dense(model, group)) for group in range(groups)]
    assert joint_log_densities(model, list(values)) == pytest.approx(wanted, rel=1e-11, abs=1e-9)
    state, whole = one_by_one(model, values), joint_posterior(model, list(values))
    assert state.log_density == pytest.approx(whole.log_density, rel=1e-12, abs=1e-9)
    assert state.mean == pytest.approx(whole.mean, rel=1e-9, abs=1e-9)
    for here, there in zip(state.predicted(model), whole.predicted(model), strict=True):
        assert here == pytest.approx(there, rel=1e-9)


def test_low_rank_and_dense_agree_far_from_every_prediction():
    rng = np.random.default_rng(0)
    model = some_model(rng, 6, 8, 3)
    values = list(rng.uniform(-40.0, LIMIT, 8))
    low = joint_log_densities(model, values)
    # The same covariance with as many shared quantities as readings takes the other way.
    shared = SharedDeviation.of_covariance(model.shared.covariance, model.shared.offset)
    full = JointModel(shared, model.mean, model.inherit, model.deviation, limit=model.limit)
    assert shared.factor.shape == (8, 8)
    assert (low < -1e6).all()
    assert joint_log_densities(full, values) == pytest.approx(low, rel=1e-11)
    assert one_by_one(model, values).log_density == pytest.approx(low, rel=1e-11)


def test_the_square_root_stays_sound_when_the_meter_is_far_sharper_than_the_boards():
    shared = SharedDeviation(np.zeros(40), np.ones((40, 1)), np.zeros(40))
    model = JointModel(shared, np.zeros((1, 40)), 1.0, 1e-7)
    state = one_by_one(model, [0.25] * 40)
    mean, deviation = state.predicted(model.take([0]))
    assert mean[0, 0] == pytest.approx(0.25, abs=1e-12)
    # n readings of the same quantity and one more: s sqrt(1 + 1/n).
    assert deviation[0, 0] == pytest.approx(1e-7 * np.sqrt(1.0 + 1.0 / 40.0), rel=1e-9)


def test_siblings_are_sharp_after_one_reading_and_a_short_inherits_nothing():
    shared = SharedDeviation(np.zeros(3), np.array([[0.03], [0.03], [0.03]]), np.full(3, 1e-6))
    model = JointModel(
        shared, [[0.5, 0.5, 0.5], [0.0, 0.5, 0.5]], [[1.0, 1.0, 1.0], [0.0, 1.0, 1.0]], 0.001
    )
    before = JointState.before(2, shared)
    wide = before.predicted(model)[1]
    assert wide[0] == pytest.approx(np.sqrt(0.03**2 + 2e-6))
    mean, deviation = before.after(model, 0, 0.54).predicted(model)
    gain = 0.03**2 / (0.03**2 + 2e-6)
    assert mean[0, 1] == pytest.approx(0.5 + gain * 0.04)
    assert deviation[0, 1] == pytest.approx(np.sqrt(0.03**2 * (1.0 - gain) + 2e-6))
    assert deviation[0, 1] < 0.07 * wide[0, 1]
    # A reading about a short says nothing of the others.
    assert mean[1, 1] == 0.5
    assert deviation[1, 1] == pytest.approx(wide[1, 1])


def test_groups_with_the_same_history_share_a_square_root():
    rng = np.random.default_rng(4)
    model = some_model(rng, 50, 6, 3)
    alike = JointModel(model.shared, model.mean, 1.0, 0.003, limit=LIMIT)
    state = one_by_one(alike, [0.5] * 6)
    assert len(state.root) == 1
    short = alike.inherit.copy()
    short[7, 2] = 0.0
    state = one_by_one(JointModel(model.shared, model.mean, short, 0.003, limit=LIMIT), [0.5] * 6)
    assert len(state.root) == 2
    assert np.count_nonzero(state.pattern == state.pattern[7]) == 1


def test_over_range_that_is_predicted_is_certain_and_a_number_there_impossible():
    rng = np.random.default_rng(5)
    model = some_model(rng, 2, 3, 2)
    over = np.array([[False, True, False], [False, False, False]])
    model = JointModel(model.shared, model.mean, 1.0, model.deviation, over=over, limit=model.limit)
    seen = joint_log_densities(model, [0.5, None, 0.52])
    rest = joint_log_densities(model.take([0, 2]), [0.5, 0.52])
    assert seen[0] == pytest.approx(rest[0], abs=1e-9)
    assert seen[1] < rest[1]
    number = [0.5, 0.51, 0.52]
    assert joint_log_densities(model, number)[0] == -np.inf
    assert one_by_one(model, number).log_density[0] == -np.inf
    assert np.isfinite(joint_log_densities(model, number)[1])


def test_selecting_and_joining_groups():
    rng = np.random.default_rng(6)
    model = some_model(rng, 5, 4, 2)
    state = one_by_one(model, [0.5] * 4)
    parts = [state.select(np.array([3, 0, 3])), state.select(np.array([1]))]
    again = JointState.joined(parts)
    further = some_model(rng, 5, 2, 2)
    wanted = state.predicted(further)[0][[3, 0, 3, 1]]
    assert again.predicted(further.select([3, 0, 3, 1]))[0] == pytest.approx(wanted)
    assert again.log_density == pytest.approx(state.log_density[[3, 0, 3, 1]])


def test_fewer_shared_quantities_leave_the_distribution_alone():
    rng = np.random.default_rng(7)
    model = some_model(rng, 3, 4, 9)
    fewer = model.compressed()
    assert fewer.shared.factor.shape == (4, 4)
    assert fewer.shared.covariance == pytest.approx(model.shared.covariance, rel=1e-12)
    flat = SharedDeviation(np.zeros(3), np.ones((3, 5)), np.zeros(3)).compressed()
    assert flat.factor.shape == (3, 1)
    assert flat.covariance == pytest.approx(np.full((3, 3), 5.0))


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ([0.5], "values"),
        ([0.5, 0.71], "beyond"),
        ([0.5, np.nan], "finite"),
        ([0.5, -np.inf], "finite"),
    ],
)
def test_values_that_can_not_be_read(values, word):
    model = some_model(np.random.default_rng(8), 2, 2, 1)
    with pytest.raises(MisuseError, match=word):
        joint_log_densities(model, values)


def test_misuse_is_refused():
    shared = SharedDeviation(np.zeros(2), np.ones((2, 1)), np.zeros(2))
    with pytest.raises(MisuseError, match="positive"):
        JointModel(shared, np.zeros((1, 2)), 1.0, 0.0)
    with pytest.raises(MisuseError, match="readings"):
        JointModel(shared, np.zeros((1, 3)), 1.0, 1.0)
    with pytest.raises(MisuseError, match="inherit"):
        JointModel(shared, np.zeros((1, 2)), np.ones(3), 1.0)
    with pytest.raises(MisuseError, match="without a limit"):
        joint_log_densities(JointModel(shared, np.zeros((1, 2)), 1.0, 1.0), [0.0, None])
    with pytest.raises(MisuseError, match="groups"):
        JointState.before(3, shared).after(JointModel(shared, np.zeros((1, 2)), 1.0, 1.0), 0, 0.0)
    with pytest.raises(MisuseError, match="negative"):
        SharedDeviation(np.zeros(2), np.ones((2, 1)), np.array([0.0, -1.0]))
    with pytest.raises(MisuseError, match="equally"):
        SharedDeviation(np.zeros(2), np.ones((3, 1)), np.zeros(2))
    with pytest.raises(MisuseError, match="finite"):
        SharedDeviation(np.zeros(2), np.full((2, 1), np.nan), np.zeros(2))
    with pytest.raises(MisuseError, match="symmetric"):
        SharedDeviation.of_covariance([[1.0, 0.2], [0.1, 1.0]])
    with pytest.raises(MisuseError, match="eigenvalue"):
        SharedDeviation.of_covariance([[1.0, 2.0], [2.0, 1.0]])
