"""Readings of which a few may stray."""

import numpy as np
import pytest
from joint_cases import log_long_way, some_model, some_stray

from nextprobe.belief import JointModel, Stray, enumerate_strays, joint_log_densities
from nextprobe.errors import MisuseError

GROUPS, READINGS = 6, 5


@pytest.fixture(scope="module")
def case():
    rng = np.random.default_rng(1)
    model = some_model(rng, GROUPS, READINGS, 3, over=0.15)
    return model, list(rng.uniform(0.45, 0.55, READINGS)), some_stray(rng, GROUPS, READINGS)


@pytest.mark.parametrize("most", range(READINGS + 1))
@pytest.mark.parametrize("beyond", [None, 2])
def test_sums_over_sets_agree_with_the_long_way(case, most, beyond):
    model, values, stray = case
    if beyond is not None:
        values = [None if i == beyond else value for i, value in enumerate(values)]
    found = enumerate_strays(model, values, stray, most)
    for group in range(GROUPS):
        wanted = log_long_way(model, values, stray, group, most)
        assert found.log_kept[group] == pytest.approx(wanted, rel=1e-11, abs=1e-9)
        whole = log_long_way(model, values, stray, group)
        rest = whole + np.log(-np.expm1(min(wanted - whole, -1e-300)))
        if whole - wanted > 1e-9:
            assert found.log_rest_bound[group] >= rest - 1e-9


def test_one_group_at_a_time_is_the_same(case, monkeypatch):
    model, values, stray = case
    whole = enumerate_strays(model, values, stray)
    monkeypatch.setattr("nextprobe.belief.joint_slips._BLOCK", 1)
    apart = enumerate_strays(model, values, stray)
    assert apart.log_kept == pytest.approx(whole.log_kept, abs=1e-12)
    assert apart.strayed == pytest.approx(whole.strayed, abs=1e-12)


def test_the_prior_of_what_is_kept_is_binomial_and_the_density_proper():
    rng = np.random.default_rng(2)
    model = some_model(rng, 2, 6, 2)
    model = JointModel(model.shared, model.mean, 1.0, model.deviation, limit=model.limit)
    stray = Stray.slips(2, np.full(6, 0.1), np.log(0.5))
    found = enumerate_strays(model, [0.5] * 6, stray)
    # Binomial(6, 0.1) at most 2: standard tables give 0.9842 (here by hand).
    chance = 0.9**6 + 6 * 0.1 * 0.9**5 + 15 * 0.01 * 0.9**4
    assert found.log_prior_kept == pytest.approx(np.full(2, np.log(chance)))
    assert round(chance, 4) == 0.9842
    assert found.log_density == pytest.approx(found.log_kept - np.log(chance))


def test_the_slip_is_found_by_its_siblings():
    rng = np.random.default_rng(3)
    model = some_model(rng, 1, 4, 1)
    model = JointModel(
        type(model.shared)(np.zeros(4), np.full((4, 1), 0.03), np.zeros(4)),
        np.full((1, 4), 0.5),
        1.0,
        0.002,
        limit=0.7,
    )
    stray = Stray.slips(1, np.full(4, 0.01), np.log(0.5))
    # 0.57 is 2.3 standard deviations from its own prediction, but 17 from its siblings.
    found = enumerate_strays(model, [0.531, 0.57, 0.529, 0.532], stray)
    assert found.strayed[0, 1] > 0.99
    assert found.strayed[0, [0, 2, 3]].max() < 0.02
    alone = enumerate_strays(model.take([1]), [0.57], stray.take([1]))
    assert alone.strayed[0, 0] < 0.05


def test_chances_that_readings_strayed_follow_bayes_rule(case):
    model, values, stray = case
    found = enumerate_strays(model, values, stray, READINGS)
    for group in range(GROUPS):
        for reading in range(READINGS):
            chance = stray.chance.copy()
            chance[group, reading] = 1e-300
            held = log_long_way(model, values, Stray(chance, stray.log_density), group)
            held += np.log1p(-stray.chance[group, reading])
            wanted = -np.expm1(held - found.log_kept[group])
            assert found.strayed[group, reading] == pytest.approx(wanted, abs=1e-9)


def test_no_slips_no_difference(case):
    model, values, _ = case
    found = enumerate_strays(model, values, Stray.never(GROUPS, READINGS))
    assert found.log_density == pytest.approx(joint_log_densities(model, values), abs=1e-9)
    assert not found.strayed.any()
    assert (found.log_rest_bound == -np.inf).all()
    assert not found.vacuous[np.isfinite(found.log_kept)].any()


def test_certain_straying_and_impossible_readings():
    rng = np.random.default_rng(4)
    model = some_model(rng, 2, 3, 2)
    always = Stray.slips(2, np.array([0.0, 1.0, 0.0]), np.log(0.5))
    found = enumerate_strays(model, [0.5, 0.1, 0.52], always)
    rest = joint_log_densities(model.take([0, 2]), [0.5, 0.52])
    assert found.log_kept == pytest.approx(rest + np.log(0.5), abs=1e-9)
    assert (found.strayed[:, 1] == 1.0).all()
    nowhere = model.without(np.array([[True, False, False], [False, False, False]]))
    found = enumerate_strays(nowhere, [0.5, 0.5, 0.52], Stray.never(2, 3))
    assert found.log_kept[0] == -np.inf
    assert np.isfinite(found.strayed).all()


def test_misuse_is_refused(case):
    model, values, stray = case
    with pytest.raises(MisuseError, match="fewer"):
        enumerate_strays(model, values, stray, -1)
    with pytest.raises(MisuseError, match="chances"):
        enumerate_strays(model, values, stray.take([0]))
