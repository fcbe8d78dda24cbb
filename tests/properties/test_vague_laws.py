"""Laws of faults without a circuit model, for any healthy value and any sizes."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.integrate import quad

from nextprobe.board import OVER_RANGE, OverRange
from nextprobe.diagnosis.vague import bins, log_densities, several

WAYS = range(3)

full_scales = st.sampled_from([2.0, 40.0, 400.0, 40e3, 100e-6])
shares = st.one_of(
    st.just(OVER_RANGE), st.floats(-0.01, 1.0), st.sampled_from([0.0, 0.01, 0.99, 1.0])
)


def scaled(share: float | OverRange, full: float) -> float | OverRange:
    return share if isinstance(share, OverRange) else share * full


@given(shares, full_scales)
def test_numbers_and_over_range_together_have_the_mass_one(
    share: float | OverRange, full: float
) -> None:
    healthy = scaled(share, full)
    breaks = [] if isinstance(healthy, OverRange) else [min(max(healthy / full, 0.01), 1.0)]
    for way in WAYS:

        def density(part: float, way: int = way) -> float:
            return full * float(np.exp(log_densities(part * full, healthy, full)[way]))

        inside, _ = quad(density, 0.0, 1.0, points=[0.01, *breaks, 0.99], limit=200)
        over = np.exp(log_densities(OVER_RANGE, healthy, full)[way])
        assert inside + over == pytest.approx(1.0, abs=1e-6), way


@given(shares, full_scales, st.lists(st.floats(0.0, 1.0), min_size=2, max_size=8, unique=True))
def test_intervals_have_the_mass_one_and_agree_with_the_densities(
    share: float | OverRange, full: float, cuts: list[float]
) -> None:
    edges = np.array([0.0, *sorted(cut for cut in cuts if 0.0 < cut < 1.0), 1.0]) * full
    assume((np.diff(edges) > 1e-9 * full).all())
    healthy = scaled(share, full)
    found = bins(edges, healthy, full)
    assert found.shape == (3, len(edges))
    assert (found >= 0.0).all()
    np.testing.assert_allclose(found.sum(axis=1), 1.0, atol=1e-9)
    np.testing.assert_allclose(found[:, -1], np.exp(log_densities(OVER_RANGE, healthy, full)))
    peaks = np.exp([log_densities(value, healthy, full) for value in (0.0, full)]).max(axis=0)
    for index, (low, high) in enumerate(pairwise(edges)):
        middles = low + (np.arange(200) + 0.5) / 200.0 * (high - low)
        drawn = np.exp([log_densities(float(value), healthy, full) for value in middles])
        mass = drawn.mean(axis=0) * (high - low)
        # The density is even up to a bound: the midpoint rule errs by half a cell there.
        cell = peaks * (high - low) / 200.0
        assert (np.abs(found[:, index] - mass) <= 0.51 * cell + 1e-9).all()


@st.composite
def disturbances(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Return chances by way of several faults with nothing last, and sets of them."""
    faults = draw(st.integers(1, 6))
    parts = draw(arrays(np.float64, (3, faults), elements=st.floats(0.0, 1.0)))
    sums = np.maximum(parts.sum(axis=0), 1.0)
    alone = np.hstack([parts / sums, np.zeros((3, 1))])
    size, count = draw(st.integers(1, 3)), draw(st.integers(1, 5))
    members = draw(arrays(np.intp, (count, size), elements=st.integers(0, faults)))
    return alone, members


@given(disturbances())
def test_several_together_disturb_with_a_probability(
    drawn: tuple[np.ndarray, np.ndarray],
) -> None:
    alone, members = drawn
    found = several(alone, members)
    assert found.shape == (3, len(members))
    assert (found >= 0.0).all()
    assert (found.sum(axis=0) <= 1.0 + 1e-12).all()
    # P(at least one of independent events) = 1 - product of the rest (elementary).
    nobody = (1.0 - alone.sum(axis=0)[members]).prod(axis=1)
    np.testing.assert_allclose(found.sum(axis=0), 1.0 - nobody, atol=1e-12)


@given(disturbances())
def test_the_order_of_members_does_not_matter_and_nobody_adds_nothing(
    drawn: tuple[np.ndarray, np.ndarray],
) -> None:
    alone, members = drawn
    padded = np.hstack([members[:, ::-1], np.full((len(members), 1), alone.shape[1] - 1)])
    np.testing.assert_allclose(several(alone, padded), several(alone, members), atol=1e-12)
    singles = np.arange(alone.shape[1])[:, None]
    np.testing.assert_allclose(several(alone, singles), alone, atol=1e-12)
