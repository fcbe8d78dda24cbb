"""Faults detected and isolated, on tests that pass or fail: the case of the standard.

Source: IEEE Std 1522, in the form of Sheppard and Kaufman (1998), "Formal specification of
testability metrics in IEEE P1522", AUTOTESTCON: a fault is detected if some test depends on it, and
isolated to the group of faults with the same outcomes. The matrix and its figures are worked out
by hand here. The bound on confusion: Kailath (1967), IEEE Trans. Commun. Technol. 15, 52-60.
"""

from __future__ import annotations

import numpy as np
import pytest

from nextprobe.trials.testability import confusions, measured

# Rows are tests, columns are faults a to e; 1 where the test fails.
MATRIX = np.array([[1, 1, 0, 0, 0], [0, 0, 1, 1, 0], [0, 0, 1, 0, 0]])
RATES = np.array([0.4, 0.2, 0.2, 0.1, 0.1])


def outcomes(error: float = 0.0) -> list[np.ndarray]:
    fails = np.hstack([MATRIX, np.zeros((3, 1))])
    fails = fails * (1.0 - error) + (1.0 - fails) * error
    return [np.stack([1.0 - row, row]) for row in fails]


@pytest.mark.parametrize("error", [0.0, 0.01])
def test_a_matrix_of_tests_that_pass_or_fail(error: float) -> None:
    told = confusions(outcomes(error)) <= 0.05
    repairs = np.array([[1, 1, 0, 0, 0], [0, 0, 1, 0, 0], [0, 0, 0, 1, 1]], dtype=bool)
    found = measured(tuple("abcde"), RATES, told[:-1, :-1], told[:-1, -1], repairs)
    assert found.faults == 5
    assert found.detected == pytest.approx(0.9)
    assert found.undetected == (("e", pytest.approx(0.1)),)
    assert found.isolated[1] == pytest.approx(0.4)
    assert found.isolated[2] == pytest.approx(1.0)
    assert found.mean_group == pytest.approx(0.6 * 2 + 0.4)
    assert found.one_repair == pytest.approx(1.0)
    [group] = found.groups
    assert group.faults == ("a", "b")
    assert group.share == pytest.approx(0.6)


def test_two_that_need_two_repairs_are_not_isolated_to_one() -> None:
    told = confusions(outcomes()) <= 0.05
    repairs = np.eye(5, dtype=bool)
    found = measured(tuple("abcde"), RATES, told[:-1, :-1], told[:-1, -1], repairs)
    assert found.one_repair == pytest.approx(0.4)


def test_confusion_is_bounded_by_the_best_test_and_by_all_together() -> None:
    one = np.array([[0.8, 0.2, 0.8], [0.2, 0.8, 0.2]])
    alone = confusions([one])
    assert alone[0, 1] == pytest.approx(0.2)
    assert alone[0, 2] == pytest.approx(0.5)
    several = confusions([one] * 12)
    # sqrt(0.8 x 0.2) x 2 = 0.8 each.
    assert several[0, 1] == pytest.approx(0.5 * 0.8**12)
    truth = _exact(12, 0.2)
    assert truth <= several[0, 1]


def _exact(count: int, error: float) -> float:
    """Return the exact error of the best decision from independent yes-or-no tests."""
    wins = np.arange(count + 1)
    ways = np.array([float(_choose(count, k)) for k in wins])
    one = ways * (1.0 - error) ** wins * error ** (count - wins)
    return float(0.5 * np.minimum(one, one[::-1]).sum())


def _choose(n: int, k: int) -> int:
    found = 1
    for step in range(k):
        found = found * (n - step) // (step + 1)
    return found
