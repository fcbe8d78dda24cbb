"""Brier score and log score: known values, and nobody gains by saying what he does not believe.

Sources: Brier (1950), "Verification of forecasts expressed in terms of probability", Monthly
Weather Review 78, 1-3; Gneiting and Raftery (2007), "Strictly Proper Scoring Rules, Prediction,
and Estimation", JASA 102, 359-378, sec. 3. Cited from memory; the values are
worked out by hand.
"""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from nextprobe.errors import MisuseError
from nextprobe.trials.reliability import LEAST, reliability, tally


def test_known_values() -> None:
    even = reliability([tally([0.5, 0.5], [True, False])])
    assert even.brier == pytest.approx(0.25)
    assert even.log_score == pytest.approx(log(2.0))
    sure = reliability([tally([1.0, 0.0], [True, False])])
    assert (sure.brier, sure.log_score) == (0.0, 0.0)
    wrong = reliability([tally([1.0, 0.0], [False, True])])
    assert wrong.brier == 1.0
    assert wrong.log_score == pytest.approx(-log(LEAST))


def test_skill_is_what_is_gone_of_the_error_of_the_reference() -> None:
    happened = [True, False, False, False]
    rate = [0.25] * 4
    found = reliability([tally([0.7, 0.1, 0.1, 0.1], happened, rate)])
    # 0.09 + 3 x 0.01 = 0.12 of 0.5625 + 3 x 0.0625 = 0.75.
    assert found.brier_skill == pytest.approx(1.0 - 0.12 / 0.75)
    assert reliability([tally(rate, happened, rate)]).brier_skill == pytest.approx(0.0)
    assert reliability([tally([0.5], [True], [1.0])]).brier_skill is None


@pytest.mark.parametrize("truth", [0.02, 0.3, 0.5, 0.93])
def test_the_expected_scores_are_best_for_who_says_what_is_true(truth: float) -> None:
    said = np.linspace(0.001, 0.999, 999)
    brier, logs = [], []
    for chance in said:
        yes, no = tally([chance], [True]), tally([chance], [False])
        brier.append(truth * yes.brier + (1.0 - truth) * no.brier)
        logs.append(truth * yes.log_score + (1.0 - truth) * no.log_score)
    assert said[int(np.argmin(brier))] == pytest.approx(truth, abs=0.001)
    assert said[int(np.argmin(logs))] == pytest.approx(truth, abs=0.001)


def test_what_are_no_forecasts_is_refused() -> None:
    for chances, happened in (([1.2], [True]), ([-0.1], [True]), ([0.5, 0.5], [True])):
        with pytest.raises(MisuseError):
            tally(chances, happened)
    with pytest.raises(MisuseError):
        reliability([])
