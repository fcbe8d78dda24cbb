"""Readings between two magnitudes of a grid: how far a step reaches, and its pieces."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from nextprobe.board import Fault, FaultKind
from nextprobe.diagnosis.magnitudes import by_magnitude, refined, steps_of

ALL = np.arange(4)


def leak(place: str, ohms: float) -> Fault:
    return Fault(FaultKind.LEAKY, place, ohms)


def test_a_family_is_the_magnitudes_of_one_fault_in_order() -> None:
    faults = [
        leak("D1", 1000.0),
        Fault(FaultKind.SHORT, "D1"),
        leak("D2", 33.0),
        leak("D1", 33.0),
        leak("D1", 330.0),
    ]
    (family,) = by_magnitude(faults)
    assert family.tolist() == [3, 4, 0]


@pytest.mark.parametrize("falling", [False, True])
def test_a_step_reaches_to_the_midpoints_and_outermost_as_far_as_inwards(falling: bool) -> None:
    mean = np.array([1.0, 2.0, 5.0, 6.0])
    below, above = [0.5, 0.5, 1.5, 0.5], [0.5, 1.5, 0.5, 0.5]
    if falling:
        mean, below, above = mean[::-1], below[::-1], above[::-1]
    found = steps_of([ALL], mean, np.zeros(4, dtype=bool))
    np.testing.assert_allclose(found, [below, above])


def test_steps_side_by_side_leave_no_gap_and_do_not_overlap() -> None:
    mean = np.array([0.033, 0.1, 0.33, 0.63])
    below, above = steps_of([ALL], mean, np.zeros(4, dtype=bool))
    np.testing.assert_allclose((mean + above)[:-1], (mean - below)[1:])


def test_a_family_that_turns_round_reaches_to_both_neighbours() -> None:
    """The one in the middle reads highest: both of its neighbours read less."""
    found = steps_of([np.arange(3)], np.array([1.0, 3.0, 2.0]), np.zeros(3, dtype=bool))
    np.testing.assert_allclose(found[:, 1], [1.0, 0.0])


def test_towards_over_range_a_step_does_not_reach() -> None:
    mean = np.array([1.0, 2.0, 0.0, 0.0])
    over = np.array([False, False, True, True])
    found = steps_of([ALL], mean, over)
    np.testing.assert_allclose(found, [[0.5, 0.5, 0.0, 0.0], [0.5, 0.0, 0.0, 0.0]])
    assert (steps_of([ALL], mean, np.ones(4, dtype=bool)) == 0.0).all()


def test_rows_outside_families_have_no_step() -> None:
    found = steps_of([np.array([0, 2])], np.array([1.0, 7.0, 3.0]), np.zeros(3, dtype=bool))
    assert (found[:, 1] == 0.0).all()
    assert (found[:, [0, 2]] == 1.0).all()


def test_rows_without_a_step_stay_as_they_are() -> None:
    mean, deviation = np.array([0.2, 0.6]), np.array([0.01, 0.03])
    found = refined(mean, deviation, np.zeros((2, 2)))
    np.testing.assert_array_equal(found.mean, mean)
    np.testing.assert_array_equal(found.deviation, deviation)
    assert found.row.tolist() == [0, 1]
    np.testing.assert_array_equal(found.averaged(mean), mean)


@pytest.mark.parametrize(
    ("share", "within"), [(0.05, 0.12), (0.1, 0.01), (0.2, 1e-3), (1.0, 1e-3), (4.0, 1e-3)]
)
def test_pieces_average_to_an_even_spread_with_normal_errors(share: float, within: float) -> None:
    """The density of a sum is the convolution of the densities (elementary).

    Here of an even spread from 0.2 to 0.7 and of a normal error whose standard deviation is a
    `share` of that width; compared at 41 values with the integral by scipy, as a part of the
    peak. Where the error is under a tenth of the step, five pieces show as ripples.
    """
    low, high, at = 0.2, 0.7, 0.33
    error = share * (high - low)
    found = refined(np.array([at]), np.array([error]), np.array([[at - low], [high - at]]))

    def exact(value: float) -> float:
        area, _ = quad(
            lambda true: norm.pdf(value, true, error),
            low,
            high,
            points=[min(max(value, low), high)],
        )
        return area / (high - low)

    values = np.linspace(low - 2.0 * error, high + 2.0 * error, 41)
    wanted = np.array([exact(value) for value in values])
    got = found.averaged(norm.pdf(values, found.mean[:, None], found.deviation[:, None]))[0]
    assert np.abs(got - wanted).max() <= within * wanted.max()


def test_without_any_error_the_pieces_hold_what_the_even_spread_holds() -> None:
    """At no value do the two distribution functions differ by more than a fortieth."""
    found = refined(np.array([0.5]), np.array([1e-6]), np.array([[0.5], [0.5]]))
    values = np.linspace(-0.5, 1.5, 401)
    below = found.averaged(norm.cdf(values, found.mean[:, None], found.deviation[:, None]))[0]
    assert np.abs(below - np.clip(values, 0.0, 1.0)).max() < 1.0 / 40.0
