"""Laws of readings between two magnitudes of a grid."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import OVER_RANGE, Meter, MeterMode
from nextprobe.diagnosis import Expectation
from nextprobe.diagnosis.magnitudes import refined, steps_of

DIODE = Meter().range_for(MeterMode.DIODE)
readings = st.floats(0.0, 1.9)


@st.composite
def families(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Return the readings of one family, rising, falling or neither; some over-range."""
    values = draw(st.lists(readings, min_size=2, max_size=7))
    order = draw(st.sampled_from(["rising", "falling", "as drawn"]))
    if order != "as drawn":
        values = sorted(values, reverse=order == "falling")
    over = draw(st.lists(st.booleans(), min_size=len(values), max_size=len(values)))
    return np.array(values), np.array(over)


@given(families())
def test_steps_are_not_negative_and_over_range_has_none(
    family: tuple[np.ndarray, np.ndarray],
) -> None:
    mean, over = family
    steps = steps_of([np.arange(len(mean))], mean, over)
    assert (steps >= 0.0).all()
    assert np.isfinite(steps).all()
    assert (steps[:, over] == 0.0).all()


@given(families())
def test_turning_a_family_round_turns_its_steps_round(
    family: tuple[np.ndarray, np.ndarray],
) -> None:
    mean, over = family
    rows = np.arange(len(mean))
    there, back = steps_of([rows], mean, over), steps_of([rows], mean[::-1], over[::-1])
    np.testing.assert_allclose(there, back[:, ::-1], atol=1e-15)


@given(families())
def test_steps_of_a_rising_or_falling_family_leave_no_gap(
    family: tuple[np.ndarray, np.ndarray],
) -> None:
    mean = np.sort(family[0])
    for values in (mean, mean[::-1]):
        below, above = steps_of([np.arange(len(values))], values, np.zeros(len(values), bool))
        ends = np.sort(values + above), np.sort(values - below)
        np.testing.assert_allclose(ends[0][:-1], ends[1][1:], atol=1e-12)


@given(families(), st.floats(1e-3, 0.3))
def test_pieces_have_the_mean_and_the_variance_of_the_whole_step(
    family: tuple[np.ndarray, np.ndarray], error: float
) -> None:
    """An even spread of width w has the variance w²/12; independent variances add (elementary)."""
    mean, over = family
    steps = steps_of([np.arange(len(mean))], mean, over)
    found = refined(mean, np.full(len(mean), error), steps)
    centre = mean + (steps[1] - steps[0]) / 2.0
    np.testing.assert_allclose(found.averaged(found.mean), centre, atol=1e-12)
    second = found.averaged(found.deviation**2 + found.mean**2)
    wanted = error**2 + steps.sum(axis=0) ** 2 / 12.0
    np.testing.assert_allclose(second - centre**2, wanted, atol=1e-9)


def expecting(mean: np.ndarray, over: np.ndarray, error: float) -> Expectation:
    rows = len(mean)
    steps = steps_of([np.arange(rows - 1)], mean, over)
    clean = np.zeros((3, rows))
    deviation, between = np.full(rows, error), np.zeros(rows)
    return Expectation(mean, deviation, steps, between, over, clean, DIODE, 0.02, "by hand")


@settings(max_examples=40)
@given(families(), st.floats(0.005, 0.1))
def test_readings_of_every_row_have_the_mass_one(
    family: tuple[np.ndarray, np.ndarray], error: float
) -> None:
    found = expecting(np.append(family[0], 0.6), np.append(family[1], False), error)
    grid = np.linspace(-1.5, DIODE.full_scale, 3501)
    density = np.exp([found.log_likelihood(float(value)) for value in grid])
    inside = np.trapezoid(density, grid, axis=0)
    atom = np.exp(found.log_likelihood(OVER_RANGE))
    # Slips are spread over 0 to full scale at a chance of 0.6; what the grid adds is theirs.
    spare = 1.5 / DIODE.full_scale * found.slip * 0.6
    np.testing.assert_allclose(inside + atom, 1.0 + spare, atol=2e-3)


@settings(max_examples=40)
@given(families(), st.floats(0.005, 0.1), st.lists(st.floats(0.05, 1.95), max_size=4, unique=True))
def test_intervals_have_the_mass_one_and_agree_with_the_densities(
    family: tuple[np.ndarray, np.ndarray], error: float, cuts: list[float]
) -> None:
    found = expecting(np.append(family[0], 0.6), np.append(family[1], False), error)
    edges = [0.0, *sorted(cuts), DIODE.full_scale]
    shares = found.bins(edges)
    np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=1e-9)
    for index, (low, high) in enumerate(pairwise(edges)):
        grid = np.linspace(low if index else -1.5, high, 2001)
        density = np.exp([found.log_likelihood(float(value)) for value in grid])
        slips = found.slip * 0.6 / DIODE.full_scale * (grid[-1] - grid[0])
        mass = (np.trapezoid(density, grid, axis=0) - slips) / (1.0 - found.slip)
        assert shares[:, index] == pytest.approx(mass, abs=2e-3)
