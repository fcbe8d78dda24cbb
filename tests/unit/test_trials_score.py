"""Scores of many jobs: by hand, and by reference implementations."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest
from scipy.stats import t as student

from nextprobe.diagnosis.options import CLOSE, DECLINE, ESCALATE
from nextprobe.errors import MisuseError
from nextprobe.planning import Cost
from nextprobe.trials.outcome import Outcome, outcome_from, outcome_of
from nextprobe.trials.play import Played, Step
from nextprobe.trials.score import (
    Gap,
    gap_closed,
    gap_with_interval,
    mean_of,
    paired_difference,
    score,
    share,
)

JOBS = [
    Outcome(100.0, 600.0, 900.0, 2, CLOSE, True),
    Outcome(200.0, 1200.0, 1200.0, 4, CLOSE, True, ("scan head", "viewfinder")),
    Outcome(300.0, 1800.0, 2700.0, 6, ESCALATE, False, wiped=True),
    Outcome(400.0, 0.0, 0.0, 0, DECLINE, False),
    Outcome(500.0, 600.0, 600.0, 3, CLOSE, False),
]


def priced(*prices: float) -> list[Outcome]:
    return [Outcome(price, 0.0, 0.0, 0, CLOSE, True) for price in prices]


def test_a_share_has_the_interval_of_clopper_and_pearson() -> None:
    for count, total in ((0, 20), (3, 20), (20, 20), (150, 1000)):
        found = share(count, total)
        interval = binomtest(count, total).proportion_ci(0.95, "exact")
        assert found.low == pytest.approx(interval.low, abs=1e-12)
        assert found.high == pytest.approx(interval.high, abs=1e-12)
        assert found.value == count / total


@pytest.mark.parametrize(("count", "total"), [(1, 0), (-1, 5), (6, 5)])
def test_what_is_no_share_is_refused(count: int, total: int) -> None:
    with pytest.raises(MisuseError):
        share(count, total)


def test_a_mean_has_the_interval_of_student() -> None:
    values = [3.0, 5.0, 4.0, 8.0, 1.0]
    found = mean_of(values)
    low, high = student.interval(
        0.95, len(values) - 1, np.mean(values), np.std(values, ddof=1) / np.sqrt(len(values))
    )
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-12)
    alone = mean_of([7.0])
    assert (alone.value, alone.low, alone.high, alone.half_width) == (7.0, 7.0, 7.0, 0.0)


def test_a_score_of_five_jobs_by_hand() -> None:
    found = score(JOBS)
    assert found.cost.value == pytest.approx(300.0)
    assert found.minutes.value == pytest.approx(14.0)
    assert found.elapsed_minutes.value == pytest.approx(18.0)
    assert found.steps == pytest.approx(3.0)
    assert (found.right.count, found.wrong.count, found.given_up.count) == (1, 2, 2)
    assert (found.comebacks, found.declined, found.escalated) == (1, 1, 1)
    assert (found.sold_in_vain, found.parts_wasted, found.wiped) == (1, 2, 1)
    with pytest.raises(MisuseError):
        score([])


def test_differences_are_taken_device_by_device() -> None:
    ours, theirs = priced(10.0, 1000.0, 50.0), priced(12.0, 1003.0, 51.0)
    found = paired_difference(ours, theirs)
    assert found.value == pytest.approx(2.0)
    assert found.half_width == pytest.approx(student.ppf(0.975, 2) * 1.0 / np.sqrt(3.0))
    assert found.half_width < score(ours).cost.half_width / 100.0


def test_the_gap_that_is_closed() -> None:
    assert gap_closed(75.0, 100.0, 50.0) == pytest.approx(0.5)
    assert gap_closed(50.0, 100.0, 50.0) == pytest.approx(1.0)
    assert gap_closed(120.0, 100.0, 50.0) == pytest.approx(-0.4)
    assert gap_closed(75.0, 50.0, 50.0) is None


def gaps(count: int, seeds: int) -> list[Gap]:
    """Return gaps of simulated prices, of which the strategy really closes 60 %."""
    found = []
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        base = rng.gamma(4.0, 25.0, count)
        best, ours, theirs = (
            priced(*(base + extra * rng.gamma(4.0, 0.25, count))) for extra in (0.0, 20.0, 50.0)
        )
        gap = gap_with_interval(ours, theirs, best)
        assert gap is not None
        found.append(gap)
    return found


def test_the_interval_of_the_gap_covers_and_shrinks_with_devices() -> None:
    few, many = gaps(40, 30), gaps(640, 5)
    covering = sum(gap.low < 0.6 < gap.high for gap in few)
    # Of 30 intervals at 95 % fewer than 24 cover by chance once in ten thousand times.
    assert covering >= 24
    narrow, wide = (np.mean([gap.high - gap.low for gap in found]) for found in (many, few))
    assert narrow == pytest.approx(wide / 4.0, rel=0.25)
    assert gap_with_interval(priced(1.0), priced(1.0), priced(1.0)) is None


def test_a_gap_that_may_be_none_has_no_bounds() -> None:
    found = gap_with_interval(priced(1.0, 9.0), priced(8.0, 1.0), priced(1.0, 2.0))
    assert found is not None
    assert (found.low, found.high) == (-np.inf, np.inf)


def test_what_is_kept_of_a_job_comes_back_from_plain_data() -> None:
    steps = (Step("check:scanner", (), Cost()), Step("verify", (), Cost()))
    played = Played(steps, CLOSE, Cost(60.0, 90.0), 12.5, True, ("scan head",), False)
    kept = outcome_of(played)
    assert kept == Outcome(12.5, 60.0, 90.0, 2, CLOSE, True, ("scan head",), False)
    assert kept.right_repair is played.right_repair is False
    assert outcome_from(kept.as_data()) == kept
