"""Chance on a simulated device: by what is asked, and of one mind about work."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from nextprobe.trials.chances import Chances, Obstinacy


def test_what_is_asked_first_changes_nothing_elsewhere() -> None:
    plain, busy = Chances(3), Chances(3)
    for _ in range(5):
        busy.again("check sound").random()
        busy.once("quality of donor speaker").random()
    assert plain.again("look").random() == busy.again("look").random()
    assert plain.once("quality").random() == busy.once("quality").random()


def test_what_is_drawn_once_stays_and_what_is_asked_again_does_not() -> None:
    chances = Chances(4)
    assert chances.once("donor").random() == chances.once("donor").random()
    rolls = [chances.again("touch").random() for _ in range(20)]
    assert len(set(rolls)) == 20
    assert Chances(5).once("donor").random() != chances.once("donor").random()


@pytest.mark.parametrize("failure", [0.05, 0.15, 0.5])
def test_work_fails_as_often_as_assumed_and_more_often_once_it_has_failed(failure: float) -> None:
    first = again = 0
    devices = 6000
    for seed in range(devices):
        chances = Chances(seed)
        chance = chances.obstinacy("clean J1").chance(failure)
        rolls = [chances.again("attempt").random() for _ in range(2)]
        first += rolls[0] < chance
        again += rolls[0] < chance and rolls[1] < chance
    interval = binomtest(first, devices).proportion_ci(0.9999, "exact")
    assert interval.low <= failure <= interval.high
    # Beta distribution worth two attempts: (2 f + 1) / (2 + 1) after one failure.
    interval = binomtest(again, first).proportion_ci(0.9999, "exact")
    assert interval.low <= (2.0 * failure + 1.0) / 3.0 <= interval.high


def test_work_that_is_surer_for_one_fault_is_so_on_every_device() -> None:
    for rank in np.linspace(0.01, 0.99, 25):
        likely, unlikely = Obstinacy(rank).chance(0.4), Obstinacy(rank).chance(0.1)
        assert 0.0 <= unlikely <= likely <= 1.0


def test_what_never_or_always_fails_does_so_on_every_device() -> None:
    for rank in (0.0, 0.5, 1.0):
        assert Obstinacy(rank).chance(0.0) == 0.0
        assert Obstinacy(rank).chance(1.0) == 1.0
        assert Obstinacy(rank).chance(1.7) == 1.0
