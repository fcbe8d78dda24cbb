"""Laws of the prediction from known-good boards, whatever the boards."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from nextprobe.board import OVER_RANGE, BenchSetup
from nextprobe.reference import (
    GoodBoard,
    GoodBoards,
    MeasuredSpread,
    SpreadPrior,
    fits,
    measured_spread,
    predictive,
    tightening,
)

VOLTS = st.integers(0, 2000).map(lambda counts: counts / 1000)
READINGS = VOLTS | st.just(OVER_RANGE)
PRIORS = st.builds(
    SpreadPrior,
    deviation=st.floats(0.002, 0.1),
    degrees=st.floats(2.5, 20.0),
    mean=st.floats(0.1, 1.0),
    boards=st.sampled_from([0.0, 1.0, 2.0, 5.0]),
)
BOARDS = st.lists(
    st.dictionaries(st.sampled_from(["J4.1", "J4.2", "J4.3"]), READINGS, min_size=1),
    min_size=1,
    max_size=6,
)


def together(readings) -> GoodBoards:
    return GoodBoards(
        tuple(
            GoodBoard("Satchel 3", f"board {number}", tuple(values.items()))
            for number, values in enumerate(readings)
        )
    )


@given(PRIORS, st.integers(1, 8), st.floats(0.2, 3.0))
def test_on_average_one_more_board_never_widens_the_prediction(prior, number, apart) -> None:
    """The mean over what the next board may read, by quadrature over the prediction itself.

    For the variance it is the law of total variance; the half-width of the 95 % interval follows
    suit.
    """
    values = [0.5 + apart * prior.deviation * (-1) ** k for k in range(number)]
    now, weight = predictive(values, prior), prior.boards + number
    assume(now.degrees > 2.5)
    spread = measured_spread(values, prior)
    assert spread is not None
    assert now.mean is not None

    def after(score: float) -> MeasuredSpread:
        return spread.with_board(now.mean, weight, now.mean + now.scale * score)[1]

    def variance(each: MeasuredSpread, boards: float) -> float:
        return each.deviation**2 * (1.0 + 1.0 / boards) * each.degrees / (each.degrees - 2.0)

    def averaged(what: Callable[[MeasuredSpread], float]) -> float:
        density = stats.t(now.degrees).pdf
        return 2.0 * quad(lambda x: what(after(x)) * density(x), 0.0, math.inf)[0]

    expected = averaged(lambda each: variance(each, weight + 1.0))
    assert expected <= variance(spread, weight) * (1.0 + 1e-6)
    half_width = averaged(lambda each: each.predictive_deviation(weight + 1.0))
    assert half_width <= now.deviation


@given(PRIORS, st.integers(1, 6))
def test_boards_that_spread_alike_tighten_the_prediction_each_time(prior, number) -> None:
    values = [0.5 + (-1) ** k * prior.deviation for k in range(number)]
    ahead = tightening(values, prior, counts=range(number + 1, number + 12))
    for before, after in pairwise(ahead):
        assert after.deviation < before.deviation


@given(BOARDS, st.randoms(use_true_random=False))
def test_the_order_of_the_boards_does_not_matter(readings, random) -> None:
    boards = together(readings)
    shuffled = list(boards.records)
    random.shuffle(shuffled)
    other = GoodBoards(tuple(shuffled))
    prior = SpreadPrior(deviation=0.015)
    for point in boards.points(BenchSetup()):
        here, there = (list(each.at(point, BenchSetup()).values()) for each in (boards, other))
        one, two = predictive(here, prior), predictive(there, prior)
        assert one.over_range == two.over_range
        assert one.degrees == two.degrees
        assert one.scale == pytest.approx(two.scale, rel=1e-9)
    mine = {(fit.label, fit.point): fit for fit in fits(boards, lambda *_: prior)}
    theirs = {(fit.label, fit.point): fit for fit in fits(other, lambda *_: prior)}
    assert mine.keys() == theirs.keys()
    for key, fit in mine.items():
        assert fit.score == pytest.approx(theirs[key].score, rel=1e-6, abs=1e-9)


@given(BOARDS)
def test_what_is_kept_is_known_and_changes_nothing_when_kept_again(readings) -> None:
    boards = together(readings)
    bench = BenchSetup()
    for record in boards.records:
        assert boards.known(record) is not None
        again = boards.with_record(record)
        for point in boards.points(bench):
            assert again.at(point, bench) == boards.at(point, bench)
