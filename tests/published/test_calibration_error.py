"""The debiased calibration error: nothing where chances come true, the true size where not.

Sources: Kumar, Liang, Ma (2019), "Verified Uncertainty Calibration", NeurIPS 32, sec. 4: the square
of a bin's mean error less ``y (1 - y) / (n - 1)``; the same estimator of reliability in Broecker
(2012) and Ferro and Fricker (2012). Cited from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from nextprobe.trials.reliability import (
    Tally,
    debiased_square,
    plain_square,
    reliability,
    tally,
)


def singles(chances: np.ndarray, happened: np.ndarray) -> list[Tally]:
    return [tally([p], [y]) for p, y in zip(chances, happened, strict=True)]


def sums(found: list[Tally]) -> tuple[np.ndarray, np.ndarray]:
    count = np.stack([each.count for each in found])
    return count, np.stack([each.chance - each.happened for each in found])


def test_with_one_forecast_a_device_it_is_the_published_estimator() -> None:
    rng = np.random.default_rng(0)
    levels = np.array([0.05, 0.25, 0.55, 0.95])
    chances = rng.choice(levels, 200)
    happened = rng.random(200) < np.clip(chances + 0.1, 0.0, 1.0)
    expected = 0.0
    for level in levels:
        seen = happened[chances == level].astype(float)
        n, mean = seen.size, seen.mean()
        expected += n / 200 * ((level - mean) ** 2 - mean * (1.0 - mean) / (n - 1))
    assert debiased_square(*sums(singles(chances, happened))) == pytest.approx(expected, rel=1e-12)


def test_a_calibrated_forecaster_has_no_debiased_error_where_the_plain_one_is_biased_up() -> None:
    debiased, plain = [], []
    for seed in range(300):
        rng = np.random.default_rng(seed)
        chances = rng.random(120)
        found = sums(singles(chances, rng.random(120) < chances))
        debiased.append(debiased_square(*found))
        plain.append(plain_square(*found))
    error = np.std(debiased) / np.sqrt(len(debiased))
    assert abs(np.mean(debiased)) < 4.0 * error
    # Twelve bins share 120 forecasts of a mean variance of 1/6: 12 / 120 / 6 and nothing else.
    assert np.mean(plain) == pytest.approx(12.0 / 120.0 / 6.0, rel=0.25)
    assert np.mean(plain) > 20.0 * error


def test_an_error_that_is_there_is_found_in_its_size() -> None:
    debiased = []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        chances = rng.uniform(0.25, 0.75, 150)
        happened = rng.random(150) < chances + 0.15
        debiased.append(debiased_square(*sums(singles(chances, happened))))
    error = np.std(debiased) / np.sqrt(len(debiased))
    assert np.mean(debiased) == pytest.approx(0.15**2, abs=4.0 * error)


def test_forecasts_of_one_device_that_hang_together_are_not_taken_for_proof() -> None:
    """Each device says the same thing ten times over: ten times the forecasts, no more evidence."""
    debiased, naive = [], []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        chances = rng.random(60)
        happened = rng.random(60) < chances
        found = [tally([p] * 10, [y] * 10) for p, y in zip(chances, happened, strict=True)]
        debiased.append(debiased_square(*sums(found)))
        naive.append(debiased_square(*sums(singles(chances.repeat(10), happened.repeat(10)))))
    error = np.std(debiased) / np.sqrt(len(debiased))
    assert abs(np.mean(debiased)) < 4.0 * error
    assert np.mean(naive) > 0.01


def test_the_band_of_a_calibrated_forecaster_holds_zero_and_that_of_another_does_not() -> None:
    rng = np.random.default_rng(3)
    chances = rng.random(400)
    good = reliability(singles(chances, rng.random(400) < chances))
    assert good.ece_band[0] == 0.0
    assert good.ece_debiased <= good.ece_plain
    bad = reliability(singles(chances, rng.random(400) < chances**2))
    # The root mean square of p - p^2 over [0, 1] is sqrt(1/30).
    assert bad.ece_band[0] < np.sqrt(1.0 / 30.0) < bad.ece_band[1]
    assert bad.ece_band[0] > 0.1
