"""Parts of a weight of evidence add up to it, whatever the evidence."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nextprobe.diagnosis.weight_parts import (
    MOST_TOGETHER,
    log_odds,
    shared_weights,
    weight_parts,
)
from nextprobe.errors import MisuseError

SEEDS = st.integers(0, 2**32 - 1)
SIZES = st.integers(1, 6)


@given(SEEDS, SIZES, SIZES, st.floats(0.0, 40.0))
def test_parts_by_rival_and_way_add_up(seed: int, rivals: int, ways: int, range_: float) -> None:
    rng = np.random.default_rng(seed)
    here, there = -range_ * rng.random(ways), -range_ * rng.random((rivals, ways))
    shares = rng.dirichlet(np.ones(rivals))
    theirs = np.logaddexp.reduce(np.log(shares)[:, None] + there, axis=(0, 1))
    whole = float(np.logaddexp.reduce(here) - theirs)
    parts = weight_parts(here, there, shares, whole)
    assert parts.sum() == pytest.approx(whole, abs=1e-9 * (1.0 + abs(whole)))


@given(SEEDS)
def test_a_rival_that_predicts_as_much_has_no_part(seed: int) -> None:
    rng = np.random.default_rng(seed)
    here = -rng.random(2)
    there = np.stack([here, here - 3.0])
    shares = np.array([0.4, 0.6])
    theirs = np.logaddexp.reduce(np.log(shares)[:, None] + there, axis=(0, 1))
    parts = weight_parts(here, there, shares, float(np.logaddexp.reduce(here) - theirs))
    assert parts[0] == pytest.approx(np.zeros(2), abs=1e-12)
    assert (parts[1] > 0.0).all()


@given(SEEDS, st.integers(1, 5), st.integers(2, 12))
def test_shares_of_observations_are_the_mean_over_all_orders(
    seed: int, count: int, worlds: int
) -> None:
    rng = np.random.default_rng(seed)
    logs, before = -5.0 * rng.random((count, worlds)), -rng.random(worlds)
    inside = np.arange(worlds) < max(1, worlds // 2)

    def odds(those: tuple[int, ...]) -> float:
        weights = before + logs[list(those)].sum(axis=0)
        return float(log_odds(*(np.logaddexp.reduce(weights[side]) for side in (inside, ~inside))))

    orders = list(permutations(range(count)))
    mean = np.zeros(count)
    for order in orders:
        for place, one in enumerate(order):
            mean[one] += (odds(order[: place + 1]) - odds(order[:place])) / len(orders)
    found = shared_weights(logs, before, inside)
    assert found == pytest.approx(mean, abs=1e-9)
    assert found.sum() == pytest.approx(odds(tuple(range(count))) - odds(()), abs=1e-9)


def test_too_many_observations_are_refused() -> None:
    logs = np.zeros((MOST_TOGETHER + 1, 2))
    with pytest.raises(MisuseError):
        shared_weights(logs, np.zeros(2), [True, False])
