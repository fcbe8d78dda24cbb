"""Work that did not help is trusted less the next time, and not done for ever."""

from __future__ import annotations

import pytest
from diagnosis_cases import small_case
from scipy.stats import beta

from nextprobe.diagnosis.acts import Check, Move, Work
from nextprobe.diagnosis.attempts import (
    attempt_noted,
    attempts,
    done_before,
    failed_refresh,
    finishing,
    trust,
)

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


def test_work_that_did_not_help_is_done_again_on_the_shops_own_account() -> None:
    case = small_case()
    work = Work("reseat", "J1")
    once = small_case([Move(work, "done"), Move(Check("scanner"), "fails")])
    twice = once.after(Move(work, "done"))
    assert once.situation.spent > case.situation.spent
    assert twice.situation.spent == once.situation.spent
    assert done_before(twice.situation.tried) == {WORK}


def test_a_refresh_that_stopped_half_way_is_trusted_less() -> None:
    tried: frozenset[str] = frozenset()
    found = []
    for _ in range(3):
        found.append(finishing(0.9, tried, "update"))
        tried = tried.union(attempt_noted(tried, failed_refresh("update")))
    assert found == pytest.approx([0.9, 0.6, 0.45])
