"""Priors of clamps.

Expected figures: 18 public IBIS (ANSI/EIA-656) files, aggregates, as noted when they were
measured; typed here again, not taken from the module.
"""

from __future__ import annotations

import numpy as np
import pytest

from nextprobe.errors import MisuseError, SettingError
from nextprobe.reference.clamp_priors import (
    SOURCE,
    UPPER_CLAMP,
    ClampClass,
    ClampPrior,
    clamp_prior,
    class_deviation,
)

LEVELS = (0.0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0)
TABLE = {
    1e-3: (0.338, 0.368, 0.565, 0.609, 0.680, 0.907, 1.81),
    0.3e-3: (0.304, 0.319, 0.510, 0.535, 0.616, 0.727, 1.02),
}
MEDIANS = {
    ClampClass.FPGA: (0.36, 0.48),
    ClampClass.MEMORY_DATA: (0.463, 0.463),
    ClampClass.MEMORY_INPUT: (0.660, 0.660),
    ClampClass.LEVEL_SHIFTER: (0.562, 0.562),
    ClampClass.SHIFTER_DIRECTION: (0.766, 0.766),
    ClampClass.MICROCONTROLLER: (0.61, 0.68),
    ClampClass.SMALL_LOGIC: (0.61, 0.73),
    ClampClass.TRANSCEIVER: (0.89, 0.89),
}


@pytest.mark.parametrize("current", TABLE)
def test_quantiles_are_those_of_the_files(current: float) -> None:
    prior = clamp_prior(current)
    assert [prior.quantile(level) for level in LEVELS] == pytest.approx(TABLE[current], abs=1e-12)
    assert [prior.level(drop) for drop in TABLE[current]] == pytest.approx(LEVELS)
    assert prior.source == SOURCE == "18 public IBIS (ANSI/EIA-656) files, aggregates"


@pytest.mark.parametrize("current", TABLE)
def test_draws_have_these_quantiles(current: float) -> None:
    number = 40_000
    drawn = clamp_prior(current).draw(np.random.default_rng(1), number)
    assert drawn.shape == (number,)
    # A share that is drawn has a standard deviation of sqrt(p(1-p)/n), at most 0.0025.
    for level, drop in zip(LEVELS[1:-1], TABLE[current][1:-1], strict=True):
        assert np.mean(drawn <= drop) == pytest.approx(level, abs=0.01)
    assert TABLE[current][0] <= drawn.min()
    assert drawn.max() <= TABLE[current][-1]


@pytest.mark.parametrize("kind", ClampClass)
def test_a_class_lies_about_the_medians_that_were_seen(kind: ClampClass) -> None:
    prior = clamp_prior(kind=kind)
    low, high = MEDIANS[kind]
    assert low <= prior.quantile(0.5) <= high
    # Narrower than all models together, wider than the process alone (160 mV, six deviations).
    assert 0.160 / 6.0 < class_deviation(kind) < 0.06
    everything = clamp_prior()
    assert _middle(prior) < _middle(everything)
    drawn = prior.draw(np.random.default_rng(2), 20_000)
    assert np.median(drawn) == pytest.approx(prior.quantile(0.5), abs=2e-3)
    assert np.quantile(drawn, 0.05) == pytest.approx(prior.quantile(0.05), abs=4e-3)


def _middle(prior: ClampPrior) -> float:
    return prior.quantile(0.95) - prior.quantile(0.05)


def test_the_upper_clamp() -> None:
    assert [UPPER_CLAMP.quantile(level) for level in (0, 0.5, 1)] == [0.40, 0.73, 1.77]


def test_one_draw_and_the_same_again() -> None:
    prior = clamp_prior()
    one, again = (prior.draw(np.random.default_rng(7)) for _ in range(2))
    assert one.shape == ()
    assert one == again


def test_misuse() -> None:
    with pytest.raises(SettingError, match=r"1 mA and 0\.3 mA, not at 2 mA"):
        clamp_prior(2e-3)
    with pytest.raises(SettingError, match=r"figures at 1 mA, not at 0\.3 mA"):
        clamp_prior(0.3e-3, ClampClass.FPGA)
    with pytest.raises(MisuseError, match="from 0 to 1"):
        clamp_prior().quantile(1.1)
    for levels, drops in (((0.0, 1.0), (0.5, 0.4)), ((0.1, 1.0), (0.4, 0.5)), ((0.0,), (1.0,))):
        with pytest.raises(MisuseError, match="quantiles rise"):
            ClampPrior(1e-3, levels, drops)
