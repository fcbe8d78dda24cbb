"""Titles instead of ids, amounts with their currency, and fault tables kept between calls."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from nextprobe import Job
from nextprobe.cli.main import main
from nextprobe.diagnosis import FaultTables, tables
from nextprobe.planning import Reason
from nextprobe.workbench.reasons import worded
from nextprobe.workbench.step_ids import step_ids
from nextprobe.workbench.step_titles import step_title

ID = re.compile(r"\b(check|look|refresh|trial|work|run|probe):\S")


@pytest.fixture(scope="module")
def job() -> Job:
    return Job.start(
        "courier-handheld", complaint="imaging", history=["drop"], tables=FaultTables()
    )


def test_every_step_has_a_title(job: Job) -> None:
    for step in (*step_ids(job.case), "probe:J4.3", "trial:imaging:fit-refresh+refit"):
        assert not ID.search(step_title(job.case, step)), step
        assert step_title(job.case, step) != step


def test_titles_are_those_of_the_options(job: Job) -> None:
    for ranked in job.recommend(0).alternatives:
        option = ranked.option
        assert step_title(job.case, option.id) == option.title


def test_whatever_ends_with_a_check_says_how_to_check(job: Job) -> None:
    functions = job.knowledge.pack.functions
    checked = [step for step in job.next_steps() if step.acts and step.acts[-1]["do"] == "check"]
    assert {step.kind for step in checked} >= {"check", "trial"}
    for step in checked:
        how = functions[str(step.acts[-1]["function"])].check.how
        assert step.how[-1].removeprefix("Then check: ") == how, step.id


def test_a_refresh_says_how_it_is_done_and_what_it_needs(job: Job) -> None:
    refreshes = job.knowledge.pack.refreshes
    steps = {step.id: step.how for step in job.next_steps(None)}
    assert steps["refresh:update"][0] == refreshes["update"].how
    assert steps["refresh:update"][1] == "It needs a network and enough charge."
    with_donor = steps["trial:imaging:fit-refresh"]
    assert with_donor[0] == refreshes["update"].how
    assert with_donor[-1].startswith("Then check: ")


def test_a_refresh_that_wipes_says_so_and_needs_the_passcode() -> None:
    may = Job.start("courier-handheld", complaint="imaging", may_wipe=True)
    [restore] = [step for step in may.next_steps(None) if step.id == "refresh:restore"]
    assert restore.how[0] == may.knowledge.pack.refreshes["restore"].how
    assert restore.how[1] == "It needs a network, enough charge and the passcode."
    assert any("wipes" in text for text in restore.cautions)


def test_a_step_that_nobody_knows_keeps_its_id(job: Job) -> None:
    assert step_title(job.case, "look:at-the-moon") == "look:at-the-moon"


def test_reasons_and_outcomes_of_the_next_step_name_no_ids(job: Job) -> None:
    [step] = job.next_steps(1)
    assert step.reasons
    assert not any(ID.search(reason.text) for reason in step.reasons)
    assert all(branch.title and not ID.search(branch.title) for branch in step.branches)


SAVED = {"plan": 20.0, "saved": 1.5}


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (Reason("saves", "", SAVED, "refresh:update"), "saves 1.50 EUR over the best fixed order"),
        (Reason("saves", "", SAVED, "check:touch"), "saves 1.50 EUR over any fixed order"),
        (Reason("plan", "", {"saved": 0.0}, "check:touch"), "best fixed order starts with it"),
        (Reason("plan", "", {"saved": -0.5}, "stop"), "no other step is worth its price first"),
        (Reason("plan", "", {"saved": -0.5}, "refresh:update"), "as good as the best fixed order"),
        (Reason("ends", "", {"probability": 0.25}), "ends the job with a chance of 25 %"),
        (Reason("bounds", "", {"upper": 9.0, "lower": 7.0}), "the whole job should cost 9.00 EUR"),
        (Reason("near tie", "", {}, "check:sound"), "'Check: sound' would be about as good"),
        (Reason("runner-up", "", {"margin": 2.0}, "check:sound"), "'Check: sound' first, the job"),
        (Reason("price", "", {"price": 1.6}), "costs 1.60 EUR by itself"),
        (Reason("another", "said elsewhere"), "said elsewhere"),
    ],
)
def test_reasons_in_words(job: Job, reason: Reason, words: str) -> None:
    [said] = worded(job.case, [reason], "check:touch")
    assert words in said.text
    assert said.numbers == reason.numbers


def test_a_table_is_built_once_for_all_calls_of_the_program(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    home = ("--home", str(tmp_path))
    built = []
    build = tables.fault_table
    monkeypatch.setattr(
        tables, "fault_table", lambda *given, **named: built.append(1) or build(*given, **named)
    )
    assert main(["start", "courier-handheld", "--complaint", "sound", *home]) == 0
    assert main(["next", "-n", "1", "--effort", "0", *home]) == 0
    first, once = capsys.readouterr().out, len(built)
    assert main(["next", "-n", "1", "--effort", "0", *home]) == 0
    assert once > 0
    assert len(built) == once
    assert first.endswith(capsys.readouterr().out)
