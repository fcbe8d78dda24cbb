"""Deviations of unknown scale."""

import numpy as np
import pytest
from joint_cases import some_model

from nextprobe.belief import (
    JointModel,
    JointState,
    Scales,
    SharedDeviation,
    Stray,
    enumerate_strays,
    joint_log_densities,
)
from nextprobe.errors import MisuseError


def test_one_scale_of_one_changes_nothing():
    rng = np.random.default_rng(1)
    model = some_model(rng, 4, 5, 2, over=0.1)
    values = list(rng.uniform(0.4, 0.6, 5))
    same = Scales([1.0], [1.0])
    found = same.log_density(joint_log_densities(same.of_model(model), values))
    assert found == pytest.approx(joint_log_densities(model, values), abs=1e-9)


def test_scales_are_weighed_by_what_they_make_of_the_readings():
    rng = np.random.default_rng(2)
    model = some_model(rng, 3, 4, 2)
    scales, values = Scales([0.25, 4.0], [0.7, 0.3]), list(rng.uniform(0.4, 0.6, 4))
    by_hand = []
    for factor in scales.factors:
        shared = SharedDeviation(
            model.shared.offset, np.sqrt(factor) * model.shared.factor, factor * model.shared.own
        )
        one = JointModel(shared, model.mean, model.inherit, model.deviation, limit=model.limit)
        by_hand.append(joint_log_densities(one, values))
    logs = joint_log_densities(scales.of_model(model), values)
    assert np.column_stack(by_hand).ravel() == pytest.approx(logs, abs=1e-9)
    wanted = np.log(0.7 * np.exp(by_hand[0]) + 0.3 * np.exp(by_hand[1]))
    assert scales.log_density(logs) == pytest.approx(wanted)
    shares = scales.shares(logs)
    assert shares.sum(axis=1) == pytest.approx(np.ones(3))
    assert shares[:, 0] == pytest.approx(0.7 * np.exp(by_hand[0] - wanted))


def test_an_odd_board_widens_what_is_expected_of_others():
    shared = SharedDeviation(np.zeros(3), 0.01 * np.eye(3), np.zeros(3))
    model = JointModel(shared, np.full((1, 3), 0.5), 1.0, 0.001)
    scales = Scales.inverse_gamma(4.0)
    wide = scales.of_model(model)
    spread = []
    for value in (0.5, 0.54):
        state = JointState.before(wide.groups, wide.shared).after(wide, 0, value)
        spread.append(scales.predicted(state.log_density, *state.predicted(wide))[1][0, 1])
    assert spread[1] > 2.0 * spread[0]


def test_strays_go_with_their_groups():
    rng = np.random.default_rng(3)
    model = some_model(rng, 3, 4, 2)
    values, scales = list(rng.uniform(0.45, 0.55, 4)), Scales([1.0, 1.0], [0.5, 0.5])
    chance = rng.uniform(0.0, 0.2, (3, 4))
    stray = Stray(chance, np.zeros((3, 4)))
    doubled = enumerate_strays(scales.of_model(model), values, stray.repeated(2), 4)
    wanted = enumerate_strays(model, values, stray, 4).log_kept
    assert scales.log_density(doubled.log_kept) == pytest.approx(wanted, abs=1e-9)


def test_the_grid_has_the_mean_of_the_inverse_gamma():
    for degrees in (3.0, 4.0, 10.0):
        scales = Scales.inverse_gamma(degrees, spacing=0.25, tail=1e-9)
        assert scales.weights @ (1.0 / scales.factors) == pytest.approx(1.0, rel=1e-6)
    # E c = ν / (ν - 2), and E c² = ν² / ((ν - 2)(ν - 4)) for ν = 10.
    assert scales.weights @ scales.factors == pytest.approx(10.0 / 8.0, rel=1e-5)
    assert scales.weights @ scales.factors**2 == pytest.approx(100.0 / 48.0, rel=1e-4)


@pytest.mark.parametrize(
    ("factors", "weights", "word"),
    [
        ([1.0], [0.9], "sum"),
        ([0.0], [1.0], "positive"),
        ([1.0, 2.0], [1.0], "as many"),
        ([], [], "one at least"),
    ],
)
def test_misuse_is_refused(factors, weights, word):
    with pytest.raises(MisuseError, match=word):
        Scales(factors, weights)


def test_degrees_must_be_positive():
    with pytest.raises(MisuseError, match="degrees"):
        Scales.inverse_gamma(0.0)
