"""Work that did not help is trusted less the next time, and not done for ever."""

from __future__ import annotations

import pytest
from scipy.stats import beta

from nextprobe.diagnosis.attempts import attempt_noted, attempts, trust

WORK = "work:reseat:J1"


def test_attempts_are_counted_until_the_work_is_no_longer_offered() -> None:
    tried: frozenset[str] = frozenset()
    for count in range(3):
        assert attempts(tried, WORK) == count
        assert WORK not in tried
        tried = tried.union(attempt_noted(tried, WORK))
    assert WORK in tried


def test_attempts_at_another_place_do_not_count() -> None:
    assert attempts(attempt_noted((), "work:reseat:J11"), WORK) == 0


@pytest.mark.parametrize("mean", [0.3, 0.88])
@pytest.mark.parametrize("failed", [0, 1, 2])
def test_trust_is_the_posterior_mean_of_a_beta_distribution(mean: float, failed: int) -> None:
    """Gelman et al. 2013, 2.4: a failure adds one to the second parameter."""
    assert mean * trust(failed) == pytest.approx(
        beta(2.0 * mean, 2.0 * (1.0 - mean) + failed).mean()
    )
