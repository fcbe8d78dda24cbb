"""Closed-form orders of steps and what they cost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from nextprobe.errors import MisuseError
from nextprobe.planning.plan_table import FloatArray


def p_over_c_order(probabilities: ArrayLike, costs: ArrayLike) -> tuple[int, ...]:
    """Return the order of falling probability per cost.

    It is optimal if there is one fault, each step cures one cause of its own and costs do not
    change (Heckerman, Breese and Rommelse 1995, Communications of the ACM 38(3), 49-57).

    Parameters
    ----------
    probabilities : array_like, shape (N,)
        That step `i` ends the job.
    costs : array_like, shape (N,)
        Of the steps [currency], positive.

    Raises
    ------
    MisuseError
        If shapes differ, a cost is not positive or a probability out of range.
    """
    chances, prices = _checked(probabilities, costs)
    return tuple(int(i) for i in np.argsort(-chances / prices, kind="stable"))


def single_fault_cost(
    order: Sequence[int], probabilities: ArrayLike, costs: ArrayLike, stop_price: float = 0.0
) -> float:
    """Return the expected cost of an order if exactly one step can end the job.

    Parameters
    ----------
    order : sequence of int
        Steps, each at most once.
    probabilities, costs : array_like, shape (N,)
        As in :func:`p_over_c_order`; the probabilities sum to at most one.
    stop_price : float
        Cost if none of them ends it [currency].
    """
    chances, prices = _checked(probabilities, costs)
    taken = list(order)
    going = 1.0 - np.concatenate(([0.0], np.cumsum(chances[taken])))
    return float(prices[taken] @ going[:-1] + going[-1] * stop_price)


def series_system_order(costs: ArrayLike, failure_probabilities: ArrayLike) -> tuple[int, ...]:
    """Return the cheapest order to test a series system until the first failure.

    Rising cost per chance of failing (Johnson 1956; Mitten 1960; cited from memory).

    Parameters
    ----------
    costs : array_like, shape (N,)
        Of the tests [currency], positive.
    failure_probabilities : array_like, shape (N,)
        Independent chances that a test fails.

    Raises
    ------
    MisuseError
        As :func:`p_over_c_order`.
    """
    return p_over_c_order(failure_probabilities, costs)


def series_system_cost(
    order: Sequence[int], costs: ArrayLike, failure_probabilities: ArrayLike
) -> float:
    """Return the expected cost of testing in an order until the first failure.

    Parameters
    ----------
    order : sequence of int
        Tests, each at most once.
    costs, failure_probabilities : array_like, shape (N,)
        As in :func:`series_system_order`.
    """
    chances, prices = _checked(failure_probabilities, costs)
    taken = list(order)
    passed = np.concatenate(([1.0], np.cumprod(1.0 - chances[taken])))
    return float(prices[taken] @ passed[:-1])


def _checked(probabilities: ArrayLike, costs: ArrayLike) -> tuple[FloatArray, FloatArray]:
    chances = np.asarray(probabilities, dtype=np.float64)
    prices = np.asarray(costs, dtype=np.float64)
    if chances.ndim != 1 or chances.shape != prices.shape:
        raise MisuseError("there must be one probability and one cost for each step")
    if not ((chances >= 0.0) & (chances <= 1.0)).all() or not (prices > 0.0).all():
        raise MisuseError("probabilities lie between 0 and 1, costs above 0")
    return chances, prices
