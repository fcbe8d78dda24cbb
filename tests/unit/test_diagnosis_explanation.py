"""What moved a suspect: parts that add up, on jobs with everything that makes that hard."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from diagnosis_cases import (
    STORY,
    TABLES,
    demo_case,
    fails,
    fit,
    look,
    pannier,
    probe,
    refresh,
    small_board,
    small_case,
    work,
    works,
)

from nextprobe.diagnosis import Brief, Case, FaultTables, Move
from nextprobe.diagnosis.acts import DONOR
from nextprobe.diagnosis.explanation import Evidence, Explained
from nextprobe.diagnosis.suspects import family_log_odds
from nextprobe.job.shelf import shelf_from, start_played

SIBLINGS = tuple(probe(f"J4.{pin}", volts) for pin, volts in ((3, 0.47), (4, 0.46), (5, 0.2)))
"""Lanes of one chip: each says what to expect of the others."""


def wet(*moves: Move) -> Case:
    brief = Brief(pannier(), "scanner", small_board(), ("liquid",))
    return Case(brief, moves, TABLES)


def every_suspect(
    case: Case, entries: Sequence[int] | None = None
) -> tuple[Evidence, tuple[Explained, ...]]:
    names, family = case.model.families
    evidence = Evidence(case, entries)
    return evidence, tuple(evidence.explained(family == place) for place in range(len(names)))


def add_up(case: Case, entries: Sequence[int] | None = None) -> None:
    first, now = (family_log_odds(case.model, case.trail[place][1]) for place in (0, -1))
    _, found = every_suspect(case, entries)
    for each, then, odds in zip(found, first.tolist(), now.tolist(), strict=True):
        assert each.at_first + each.story.nats.sum() == pytest.approx(then, abs=1e-9)
        assert each.came_in == pytest.approx(then, abs=1e-9)
        assert each.came_in + each.evidence.nats.sum() == pytest.approx(odds, abs=1e-9)
        assert each.now == pytest.approx(odds, abs=1e-9)


@pytest.mark.parametrize("length", [0, 1, 7, 10, 14, 16])
def test_parts_add_up_with_trials_that_can_not_be_relied_on(length: int) -> None:
    add_up(small_case(STORY[:length], board=True))


def test_parts_add_up_where_sets_of_several_faults_are_listed() -> None:
    seen = look("look at J1", "dirt or residue"), look("liquid indicator", "changed colour")
    case = wet(*seen, work("ultrasonic", "J1"), fails(), probe("J1.1", 0.3))
    assert case.model.sets.several
    add_up(case)


def test_parts_add_up_where_readings_deviate_together() -> None:
    case = demo_case().after(*SIBLINGS)
    assert case.situation.deviating is not None
    add_up(case)


def test_the_probability_is_that_of_the_parts() -> None:
    case = wet(*STORY[:5])
    names, _ = case.model.families
    _, found = every_suspect(case)
    for suspect in case.suspects():
        now = found[names.index(suspect.key)].now
        assert 1.0 / (1.0 + np.exp(-now)) == pytest.approx(suspect.probability, abs=1e-9)


def test_what_was_seen_apart_has_the_same_parts_in_any_order() -> None:
    seen = (look("liquid indicator", "nothing"), works("viewfinder"), probe("J1.5", 0.45))
    one, other = (every_suspect(small_case(moves, board=True)) for moves in (seen, seen[::-1]))
    titles = [each.title for each in other[0].observations]
    for here, there in zip(one[1], other[1], strict=True):
        assert here.evidence.nats == pytest.approx(there.evidence.nats[::-1], abs=1e-6)
    assert [each.title for each in one[0].observations] == titles[::-1]


def test_moves_of_one_entry_speak_together() -> None:
    case = small_case([works("viewfinder"), fit(), refresh(), fails()], board=True)
    evidence, _ = every_suspect(case, [2, 3, 3, 3])
    assert [each.kind for each in evidence.observations] == ["works", "trial"]
    assert [each.kind for each in every_suspect(case)[0].observations] == [
        "works", "trial", "refresh", "complaint",
    ]  # fmt: skip


def test_touches_of_a_point_speak_with_the_first() -> None:
    moves = [
        probe("J1.1", 0.66, touch="a"),
        works("viewfinder"),
        probe("J1.1", 0.67, touch="b"),
        probe("J1.1", 0.66, device=DONOR),
    ]
    evidence, found = every_suspect(small_case(moves, board=True))
    first, _, again, donor = evidence.observations
    assert first.title.endswith("J1.1 reads 0.665 V (diode), 2 touches")
    assert (first.touches, again.touches) == (2, 0)
    assert donor.kind == "known-good reading"
    for each in found:
        assert each.evidence.nats[2:].tolist() == [0.0, 0.0]


def test_a_story_that_says_nothing_of_a_suspect_moves_it_by_its_rivals_alone() -> None:
    case = wet()
    names, _ = case.model.families
    evidence, found = every_suspect(case)
    assert evidence.story == ("what happened: liquid",)
    nats = {name: each.story.nats[0] for name, each in zip(names, found, strict=True)}
    assert nats["liquid-residue:J1"] > 1.0
    assert nats["module-bad:scan head"] < 0.0


@pytest.mark.parametrize("length", [5, 16])
def test_parts_by_rival_add_up_to_the_part(length: int) -> None:
    case = small_case(STORY[:length], board=True)
    names, family = case.model.families
    which = family == names.index("module-bad:scan head")
    evidence = Evidence(case)
    found = evidence.explained(which)
    for place, nats in enumerate(found.evidence.nats):
        parts = evidence.by_rival(which, [place])
        assert sum(part.nats for part in parts) == pytest.approx(nats, abs=1e-9)
        assert all("module-bad:scan head" not in part.families for part in parts)


def test_another_function_that_works_speaks_against_what_both_need() -> None:
    case = small_case([works("viewfinder")], board=True)
    names, family = case.model.families
    which = family == names.index("module-bad:scan head")
    parts = {part.families: part.nats for part in Evidence(case).by_rival(which, [0])}
    assert parts["chip-dead:U1",] > 0.01
    assert parts.get(("chip-dead:U2",), 0.0) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("pack", "name"),
    [("courier-handheld", "pending"), ("courier-handheld", "wet"), ("ferry-terminal", "dark")],
)
def test_parts_add_up_all_through_a_job_on_the_simulated_bench(pack: str, name: str) -> None:
    shelf, _ = shelf_from(pack, FaultTables())
    played = start_played(shelf, name, 0, pack)
    for number in range(20):
        step = played.job.next_steps(1, 2)[0]
        played.take(step)
        entries = played.job.so_far.entries
        ended = step.kind == "end"
        if ended or number % 4 == 3:
            add_up(played.job.case, [entry.number for entry in entries for _ in entry.moves])
        if ended:
            break
    assert played.steps
