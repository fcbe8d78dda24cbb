"""What acts show and what they leave behind: swaps, refreshes, repeated checks, repairs."""

from __future__ import annotations

import pytest
from diagnosis_cases import (
    LATE,
    PROMPT,
    chance,
    check,
    fails,
    fit,
    log_odds,
    look,
    option_ids,
    pannier,
    probe,
    refit,
    refresh,
    remaining,
    small_case,
    work,
    works,
)

from nextprobe.board import FaultKind
from nextprobe.diagnosis import Case, Check, Fit, Look, Probe, Refresh, Work, say_move
from nextprobe.diagnosis.acts import DONOR, FAILED, FAILS, NEW, SECOND, Act, Move
from nextprobe.diagnosis.proof import unproven
from nextprobe.diagnosis.situation import quality
from nextprobe.diagnosis.transitions import accept, chances, perform, prepared
from nextprobe.errors import MisuseError

BAD = FaultKind.MODULE_BAD
STALE = FaultKind.RECOGNITION_STALE


def moved(kind: FaultKind, *moves: Move, complaint: str = "scanner") -> float:
    """Return by how much the log odds of a kind of fault change."""
    before = small_case(complaint=complaint)
    after = small_case(moves, complaint=complaint)
    return log_odds(chance(after, kind)) - log_odds(chance(before, kind))


# Swapped, still dead.


def test_a_swap_without_refresh_does_not_exonerate_a_module_that_is_recognised_late() -> None:
    assert -0.1 < moved(BAD, fit(), fails()) < 0.0


def test_a_swap_with_refresh_does() -> None:
    assert moved(BAD, fit(), refresh(), fails()) < -2.5


def test_a_swap_exonerates_a_module_that_is_recognised_at_once() -> None:
    assert moved(BAD, fit(PROMPT), fails("viewfinder"), complaint="viewfinder") < -2.5


def test_a_swap_that_still_fails_leaves_the_chance_that_the_donor_is_bad_too() -> None:
    one = small_case([fit(PROMPT), fails("viewfinder")], complaint="viewfinder")
    two = small_case(
        [fit(PROMPT), fails("viewfinder"), fit(PROMPT, SECOND), fails("viewfinder")],
        complaint="viewfinder",
    )
    assert 0.0 < chance(two, BAD) < 0.3 * chance(one, BAD)


def test_the_same_donor_tried_again_says_nothing_new() -> None:
    once = [fit(PROMPT), fails("viewfinder")]
    again = [*once, refit(PROMPT), fails("viewfinder"), *once]
    first, second = (small_case(moves, complaint="viewfinder") for moves in (once, again))
    assert abs(log_odds(chance(second, BAD)) - log_odds(chance(first, BAD))) < 0.5


# Works after swap and refresh.

TRIAL = (fit(), refresh(), works())


def test_works_after_swap_and_refresh_speaks_for_module_and_recognition() -> None:
    assert moved(BAD, *TRIAL) > 1.0
    assert moved(STALE, *TRIAL) > 0.3
    others = small_case(TRIAL)
    for kind in (FaultKind.DIRT, FaultKind.RESIDUE, FaultKind.EXTERNAL, FaultKind.UNLISTED):
        assert chance(others, kind) < 0.25 * chance(small_case(), kind)


def test_refitting_the_original_tells_them_apart() -> None:
    case = small_case(TRIAL)
    worked, failed = case.after(refit(), works(times=5)), case.after(refit(), fails())
    assert chance(worked, STALE) > 4 * chance(case, STALE)
    assert chance(worked, BAD) < 0.1
    assert chance(failed, BAD) > 0.95
    assert chance(failed, STALE) < 0.2 * chance(case, STALE)
    assert remaining(worked) < 0.1
    assert remaining(failed) > 0.9


def test_a_refresh_with_the_original_in_place_saves_a_module() -> None:
    case = small_case([refresh(), works(times=5)])
    assert case.suspects(1)[0].key == f"recognition-stale:{LATE}"
    assert chance(case, BAD) < 0.2


def test_works_at_once_after_a_mere_swap_speaks_for_the_seat_or_a_rare_start() -> None:
    case = small_case([fit(), works()])
    assert chance(case, FaultKind.SEATING) > chance(small_case(), FaultKind.SEATING)


# Repeated checks.


def test_a_repeated_check_is_no_fresh_proof() -> None:
    """Drawn once: a fault that comes and goes, or that spares the viewfinder, stays possible."""
    case = small_case([works("viewfinder")], board=True)
    often = small_case([works("viewfinder")] * 30, board=True)
    before, once, thirty = (
        chance(c, FaultKind.FIRMWARE_CORRUPT) for c in (small_case(board=True), case, often)
    )
    assert thirty < once < before
    assert thirty > 0.8 * before


def test_after_a_refresh_an_original_counts_as_failed_only_if_it_fails_twice() -> None:
    swapped = [fit(), refresh(), works(), refit()]
    twice = Move(Check("scanner", confirmed=True), FAILS)
    once = small_case([*swapped, fails()])
    assert unproven(once.model, small_case([*swapped, fails(), fit(), works()]).situation)
    assert not unproven(once.model, small_case([*swapped, twice, fit(), works()]).situation)


def test_a_failure_seen_twice_says_more_than_one() -> None:
    swapped = [fit(), refresh(), works(), refit()]
    twice = Move(Check("scanner", confirmed=True), FAILS)
    once, confirmed = small_case([*swapped, fails()]), small_case([*swapped, twice])
    assert chance(confirmed, BAD) > chance(once, BAD)
    assert "twice" in say_move(twice)


def test_one_check_of_several_is_the_same_as_several_checks() -> None:
    several = small_case([*[work("reseat", "J1")], *[works()] * 5])
    at_once = small_case([work("reseat", "J1"), works(times=5)])
    assert remaining(at_once) == pytest.approx(remaining(several), abs=1e-12)


def test_a_fault_that_comes_and_goes_is_found_by_checking_more_often() -> None:
    case = small_case([work("reseat", "J1"), works()])
    assert remaining(case.after(works(times=5))) < remaining(case)
    assert remaining(case.after(works(times=50))) < remaining(case.after(works(times=5)))


def test_that_the_complaint_still_fails_is_no_news_where_nothing_was_done() -> None:
    assert abs(moved(BAD, fails())) < 0.05


# Work.


def test_work_by_itself_is_no_evidence() -> None:
    before, after = small_case(), small_case([work("reseat", "J1")])
    for suspect in before.suspects():
        assert chance(after, suspect.key) == pytest.approx(suspect.probability, abs=1e-12)
    assert remaining(after) < remaining(before)


def test_still_failing_after_work_speaks_against_what_it_would_have_cured() -> None:
    assert moved(FaultKind.SEATING, work("reseat", "J1"), fails()) < -1.0


def test_working_after_work_speaks_for_what_it_cures() -> None:
    case = small_case([work("reseat", "J1"), works(times=5)])
    assert case.suspects(1)[0].key == "poor-seating:J1"
    assert remaining(case) < 0.2


def test_fitting_a_module_seats_its_connector_anew() -> None:
    seated = small_case([fit(), refit(), works(times=5)])
    assert chance(seated, FaultKind.SEATING) > 0.5


def test_work_that_cures_nothing_here_changes_nothing_but_the_record() -> None:
    before, after = small_case(), small_case([work("backup", "device")])
    assert after.situation.configuration.backed_up
    for suspect in before.suspects():
        assert chance(after, suspect.key) == pytest.approx(suspect.probability, abs=1e-12)


def test_a_refresh_that_fails_speaks_for_corrupt_firmware_and_recognises_nothing() -> None:
    assert moved(FaultKind.FIRMWARE_CORRUPT, refresh(FAILED)) > 0.5
    case = small_case([fit(), refresh(FAILED)])
    assert (LATE, DONOR) not in case.situation.configuration.recognised
    assert (LATE, DONOR) in small_case([fit(), refresh()]).situation.configuration.recognised


# What still works.


def test_what_still_works_clears_what_it_shares_and_spares_the_rest() -> None:
    before = small_case(board=True)
    after = small_case([works("viewfinder")], board=True)
    for shared in ("short:C5", "short:U1.C1", "chip-dead:U1"):
        assert chance(after, shared) < 0.15 * chance(before, shared), shared
    for own in ("short:C4", "no-output:U2", "open:FB1", f"module-bad:{LATE}"):
        assert chance(after, own) >= chance(before, own), own


def test_what_fails_as_well_points_to_what_they_share() -> None:
    before = small_case(board=True)
    after = small_case([fails("viewfinder")], board=True)
    assert chance(after, "short:C5") > 5 * chance(before, "short:C5")
    assert chance(after, "short:C4") < 0.3 * chance(before, "short:C4")


# The form of acts and results.


@pytest.mark.parametrize(
    "act",
    [
        Check("scanner"),
        Check("viewfinder", 3),
        Fit(LATE, DONOR),
        Fit(LATE, NEW),
        Refresh("update"),
        Refresh("restore"),
        Work("reseat", "J1"),
        Work("no such work", "nowhere"),
        Look("scanner self-test"),
    ],
)
def test_the_chances_of_all_results_sum_to_one(act: Act) -> None:
    case = small_case(board=True)
    branches = perform(case.model, case.situation, act)
    assert sum(branch.probability for branch in branches) == pytest.approx(1.0, abs=1e-9)
    ready = prepared(case.model, case.situation, act)
    _, likelihoods = chances(case.model, ready, act)
    assert all((row >= 0.0).all() and (row <= 1.0).all() for row in likelihoods)


def test_planning_and_replay_see_the_same() -> None:
    case = small_case(board=True)
    for branch in perform(case.model, case.situation, Check("viewfinder")):
        replayed = case.after(check("viewfinder", branch.label)).situation
        assert branch.state is not None
        assert sorted(branch.state.ensemble.probabilities) == pytest.approx(
            sorted(replayed.ensemble.probabilities), abs=1e-12
        )


@pytest.mark.parametrize(
    ("act", "result"),
    [
        (Check("scanner"), "perhaps"),
        (Refresh("update"), "works"),
        (Look("scanner self-test"), "a parrot"),
        (Fit(LATE, DONOR), "works"),
    ],
)
def test_a_result_that_an_act_can_not_give_is_refused(act: Act, result: str) -> None:
    case = small_case()
    with pytest.raises(MisuseError, match="is not one of"):
        accept(case.model, case.situation, act, result)


def test_a_reading_has_no_few_results() -> None:
    case = small_case(board=True)
    with pytest.raises(MisuseError, match="number"):
        accept(case.model, case.situation, Probe("J1.1"), "low")


def test_the_quality_of_an_instance_is_drawn_when_it_is_first_fitted() -> None:
    data = pannier().modules[LATE]
    case = small_case([fit()])
    bad = case.situation.ensemble.marginal(quality(LATE, DONOR))[1]
    assert bad == pytest.approx(data.donor_bad)
    new = small_case([fit(instance=NEW)]).situation.ensemble.marginal(quality(LATE, NEW))[1]
    assert new < bad


# Verification.


def endings(*moves: Move) -> list[str]:
    return option_ids(small_case(moves), "end")


def test_nothing_is_handed_over_before_it_is_verified() -> None:
    repaired = (work("reseat", "J1"), works())
    assert "close" not in endings(*repaired)
    assert "verify" in option_ids(small_case(repaired))
    assert "close" in endings(*repaired, works(times=5))


def test_a_verification_that_failed_verifies_nothing() -> None:
    moves = (work("reseat", "J1"), works(), fails(times=5), works())
    assert "close" not in endings(*moves)
    assert "verify" in option_ids(small_case(moves))
    assert "close" in endings(*moves, works(times=5))


def test_a_failure_after_the_verification_undoes_it() -> None:
    moves = (work("reseat", "J1"), works(times=5), fails(), works())
    assert "close" not in endings(*moves)


def test_what_was_verified_before_a_change_is_to_be_verified_again() -> None:
    moves = (work("reseat", "J1"), works(times=5))
    assert "close" in endings(*moves)
    assert "close" not in endings(*moves, work("clean", "J1"), works())


# Second trials.


def trials(case: Case) -> list[str]:
    return option_ids(case, "trial")


def test_a_second_donor_is_offered_once_the_first_failed_as_a_known_one() -> None:
    case = small_case([fit(), refresh(), fails(), refit(), fails()])
    assert trials(case) == ["trial:scan-head:second"]


def test_a_donor_that_was_never_recognised_is_no_reason_for_a_second_one() -> None:
    case = small_case([fit(), fails(), refit(), fails()])
    assert trials(case) == ["trial:scan-head:fit", "trial:scan-head:fit-refresh"]


def test_a_donor_that_is_recognised_at_once_is_not_tried_again_but_a_second_one_may() -> None:
    moves = [fit(PROMPT), fails("viewfinder"), refit(PROMPT), fails("viewfinder")]
    case = small_case(moves, complaint="viewfinder")
    assert trials(case) == ["trial:viewfinder:second"]


def test_two_bad_donors_are_enough() -> None:
    moves = [fit(PROMPT), fails("viewfinder"), refit(PROMPT), fails("viewfinder")]
    moves += [fit(PROMPT, SECOND), fails("viewfinder"), refit(PROMPT), fails("viewfinder")]
    assert trials(small_case(moves, complaint="viewfinder")) == []


# What is told.


def test_evidence_that_was_taken_in_is_named_in_the_trail() -> None:
    case = small_case([look("liquid indicator", "nothing"), probe("J1.1", 0.66), works()])
    assert [name for name, _ in case.trail] == ["complaint", *map(say_move, case.moves)]
