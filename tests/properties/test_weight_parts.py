"""Parts of a weight of evidence add up to it, whatever the evidence."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from nextprobe.diagnosis.evidence_shares import MOST_TOGETHER, SOME_ORDERS, Sharing
from nextprobe.diagnosis.weight_parts import LEAST_LOG, log_odds, weight_parts

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

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


def observed(seed: int, count: int, worlds: int) -> tuple[FloatArray, FloatArray, BoolArray]:
    rng = np.random.default_rng(seed)
    inside = np.arange(worlds) < max(1, worlds // 2)
    return -5.0 * rng.random((count, worlds)), -rng.random(worlds), inside


def odds_after(logs: FloatArray, before: FloatArray, inside: BoolArray) -> float:
    weights = before + logs.sum(axis=0)
    return float(log_odds(*(np.logaddexp.reduce(weights[side]) for side in (inside, ~inside))))


@given(SEEDS, st.integers(1, 5), st.integers(2, 12))
def test_shares_of_observations_are_the_mean_over_all_orders(
    seed: int, count: int, worlds: int
) -> None:
    logs, before, inside = observed(seed, count, worlds)
    orders = list(permutations(range(count)))
    mean = np.zeros(count)
    for order in orders:
        for place, one in enumerate(order):
            told = [
                odds_after(logs[list(order[:end])], before, inside) for end in (place, place + 1)
            ]
            mean[one] += (told[1] - told[0]) / len(orders)
    [found] = Sharing(logs, before, inside).shares()
    assert found.nats == pytest.approx(mean, abs=1e-9)
    assert found.orders == 0
    assert not found.error.any()


@given(SEEDS, st.integers(0, MOST_TOGETHER + 10), st.integers(2, 12))
def test_shares_add_up_whatever_their_number(seed: int, count: int, worlds: int) -> None:
    logs, before, inside = observed(seed, count, worlds)
    whole = odds_after(logs, before, inside) - odds_after(logs[:0], before, inside)
    [found] = Sharing(logs, before, inside).shares()
    assert found.nats.sum() == pytest.approx(whole, abs=1e-9)


@given(SEEDS, st.integers(2, 4))
def test_some_orders_come_near_to_all(seed: int, count: int) -> None:
    logs, before, inside = observed(seed, count, 12)
    # Observations that say the same of every world move nothing, and take no share.
    idle = np.zeros((MOST_TOGETHER + 1 - count, 12))
    [all_orders] = Sharing(logs, before, inside).shares()
    [some] = Sharing(np.vstack([logs, idle]), before, inside).shares()
    assert some.orders == SOME_ORDERS
    assert (abs(some.nats[:count] - all_orders.nats) <= 6.0 * some.error[:count] + 1e-9).all()
    assert some.nats[count:] == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=30)
@given(SEEDS, st.sampled_from([1, 3, MOST_TOGETHER + 2]))
def test_parts_of_a_share_by_rival_add_up_to_it(seed: int, count: int) -> None:
    logs, before, _ = observed(seed, count, 10)
    logs[0, 4] = -np.inf
    rival = np.arange(10) // 2
    both = np.stack([rival == 0, rival == 2])
    sharing = Sharing(logs, before, both)
    for row, shares in enumerate(sharing.shares()):
        for place in range(count):
            parts = sharing.by_rival(place, rival, row)
            assert parts.sum() == pytest.approx(shares.nats[place], abs=1e-9)
            assert parts[2 * row] == 0.0


def test_what_is_ruled_out_counts_as_hardly_possible() -> None:
    [found] = Sharing([[-np.inf, 0.0]], [0.0, 0.0], [True, False]).shares()
    assert found.nats == pytest.approx([LEAST_LOG])
