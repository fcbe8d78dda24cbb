"""A case: evidence in, suspects with what moved them out."""

from __future__ import annotations

import pytest
from diagnosis_cases import (
    LATE,
    STORY,
    chance,
    demo_case,
    fails,
    fit,
    fresh_case,
    look,
    probe,
    refresh,
    small_board,
    small_case,
    work,
    works,
)

from nextprobe.board import OVER_RANGE, Fault, FaultKind
from nextprobe.diagnosis import Case, Move, Probe, say_move
from nextprobe.diagnosis.acts import DONOR
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.diagnosis.wording import say_fault
from nextprobe.packs.causes import Cause


def beliefs(case: Case) -> dict[str, float]:
    return {suspect.key: suspect.probability for suspect in case.suspects()}


@pytest.mark.parametrize("length", range(len(STORY) + 1))
def test_suspects_have_the_mass_one_at_every_step(length: int) -> None:
    case = small_case(STORY[:length], board=True)
    assert sum(beliefs(case).values()) == pytest.approx(1.0, abs=1e-9)
    for suspect in case.suspects():
        assert 0.0 <= suspect.remaining <= suspect.probability + 1e-12


def test_replaying_equals_living() -> None:
    lived = small_case(board=True)
    for move in STORY:
        lived = lived.after(move)
    replayed = fresh_case(STORY, board=True)
    assert beliefs(lived) == beliefs(replayed)
    assert lived.situation.configuration == replayed.situation.configuration
    assert lived.situation.tried == replayed.situation.tried
    assert lived.situation.spent == replayed.situation.spent
    assert lived.recommend(6).cost == replayed.recommend(6).cost


def test_replaying_equals_living_where_a_known_good_board_came_in_between() -> None:
    moves = (probe("J1.1", 0.6), probe("J1.1", 0.7, device=DONOR), probe("J1.2", 0.6))
    lived = small_case(board=True)
    for move in moves:
        lived = lived.after(move)
    assert beliefs(lived) == beliefs(fresh_case(moves, board=True))


def test_a_case_is_not_changed_by_what_comes_after() -> None:
    case = small_case(board=True)
    before = beliefs(case)
    case.after(fit(), refresh(), fails())
    assert beliefs(case) == before
    assert case.moves == ()


def test_suspects_come_likeliest_first_and_as_many_as_asked_for() -> None:
    case = small_case(STORY, board=True)
    found = [suspect.probability for suspect in case.suspects()]
    assert found == sorted(found, reverse=True)
    assert len(case.suspects(3)) == 3
    assert case.suspects(3) == case.suspects()[:3]


def test_magnitudes_of_one_fault_are_one_suspect() -> None:
    case = small_case(board=True)
    names, family = case.model.families
    assert len(names) == len(set(names)) < len(case.model.listed)
    assert len(family) == len(case.model.listed)
    assert family_chances(case.model, case.situation).sum() == pytest.approx(1.0)
    assert not any("@" in name for name in names)


def test_a_suspect_says_what_it_was_before_any_evidence() -> None:
    before = beliefs(small_case(board=True))
    for suspect in small_case(STORY, board=True).suspects():
        assert suspect.prior == pytest.approx(before[suspect.key], abs=1e-12)
        assert suspect.cause in {*Cause, "unlisted"}


@pytest.mark.parametrize(
    ("move", "words"),
    [
        (works(), "check scanner: works"),
        (fails(times=5), "check scanner 5 times: fails"),
        (look("look at J1", "bent pin"), "look at J1: bent pin"),
        (fit(), "donor scan head fitted"),
        (refresh(), "update: finished"),
        (work("reseat", "J1"), "reseat J1"),
        (probe("J1.1", 0.4521), "J1.1 reads 0.452 V (diode)"),
        (probe("J1.1", OVER_RANGE, device=DONOR), "donor: J1.1 reads OL (diode)"),
        (Move(Probe("J1.1")), "J1.1 not read"),
    ],
)
def test_moves_in_words(move: Move, words: str) -> None:
    assert say_move(move) == words


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (Fault(FaultKind.MODULE_BAD, LATE), "scan head is bad"),
        (Fault(FaultKind.SEATING, "J1"), "J1 not seated (scan head)"),
        (Fault(FaultKind.BRIDGE, "J1.1~J1.2"), "bridge between J1.1 and J1.2"),
        (Fault(FaultKind.BROKEN_NET, "SC_SDA/J1.4"), "broken net SC_SDA at J1.4"),
        (Fault(FaultKind.SHORT, "C4"), "C4 short (1u)"),
        (Fault(FaultKind.LEAK_TO_GROUND, "U1.A1", 330.0), "leak from U1.A1 to ground"),
        (Fault(FaultKind.SETTINGS, "scanner"), "settings of reading labels"),
        (Fault(FaultKind.OPEN, "?passive open/scanner"), "an open part or joint, not located"),
        (Fault(FaultKind.UNLISTED, "scanner"), "a fault that is not in the list"),
    ],
)
def test_faults_in_words(fault: Fault, words: str) -> None:
    assert say_fault(fault, small_case().model.pack, small_board()) == words


def test_every_candidate_of_the_demo_has_words_of_its_own() -> None:
    case = demo_case()
    titles = [s.title for s in case.suspects()]
    assert all(titles)
    assert not any("?" in title or "~" in title for title in titles)
    doubled = {title for title in titles if titles.count(title) > 1}
    assert doubled == set()


def test_history_is_in_the_priors_of_a_case() -> None:
    plain, wet = small_case(), small_case(history=["liquid"])
    assert chance(wet, FaultKind.RESIDUE) > 3 * chance(plain, FaultKind.RESIDUE)
