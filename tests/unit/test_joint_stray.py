"""Causes of straying readings, put together."""

import numpy as np
import pytest

from nextprobe.belief import Stray
from nextprobe.errors import MisuseError


def test_slips_are_alike_under_all_groups():
    slips = Stray.slips(3, np.array([0.01, 0.02]), np.log(0.5))
    assert slips.chance.shape == (3, 2)
    assert slips.log_strayed[1] == pytest.approx(np.log([0.005, 0.01]))
    assert slips.log_held[2] == pytest.approx(np.log([0.99, 0.98]))
    one = Stray.slips(3, 0.01, np.log([0.5, 0.4, 0.3]))
    assert one.chance.shape == (3, 3)


def test_ways_exclude_each_other():
    chances = [[[0.1, 0.0]], [[0.3, 0.0]]]
    both = Stray.ways(chances, np.log([[[2.0, 1.0]], [[4.0, 1.0]]]))
    assert both.chance == pytest.approx(np.array([[0.4, 0.0]]))
    assert np.exp(both.log_strayed) == pytest.approx(np.array([[0.1 * 2.0 + 0.3 * 4.0, 0.0]]))
    with pytest.raises(MisuseError, match="more than one"):
        Stray.ways([[[0.7]], [[0.6]]], 0.0)


def test_two_causes_of_which_one_hides_the_other():
    residue = Stray(np.array([[0.5]]), np.log([[2.0]]))
    slip = Stray(np.array([[0.1]]), np.log([[1.0]]))
    both = residue.unless(slip)
    assert both.chance[0, 0] == pytest.approx(1.0 - 0.5 * 0.9)
    assert np.exp(both.log_strayed[0, 0]) == pytest.approx(0.1 * 1.0 + 0.9 * 0.5 * 2.0)
    none = residue.unless(Stray.never(1, 1))
    assert none.log_strayed == pytest.approx(residue.log_strayed)


def test_selecting_and_repeating():
    stray = Stray(np.array([[0.1, 0.2], [0.3, 0.4]]), np.zeros((2, 2)))
    assert stray.select([1]).take([0]).chance.tolist() == [[0.3]]
    assert stray.repeated(2).chance[:, 0].tolist() == [0.1, 0.1, 0.3, 0.3]


@pytest.mark.parametrize(
    ("chance", "log_density", "word"),
    [
        ([[1.1]], [[0.0]], "between"),
        ([[np.nan]], [[0.0]], "between"),
        ([[0.1]], [[np.nan]], "number"),
        ([[0.1]], [[np.inf]], "number"),
        ([[0.1]], [[0.0, 0.0]], "densities"),
    ],
)
def test_misuse_is_refused(chance, log_density, word):
    with pytest.raises(MisuseError, match=word):
        Stray(np.array(chance), np.array(log_density))
