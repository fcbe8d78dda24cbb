"""The parts of a told job: what a technician reads at a terminal of 80 columns."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, Reading
from nextprobe.cli import story
from nextprobe.diagnosis import Act, Check, Fit, Move, Probe, Refresh
from nextprobe.planning import Cost, Reason
from nextprobe.trials.play import Played, Step
from nextprobe.workbench.remarks import Remark
from nextprobe.workbench.steps import Branch, StepRecord
from nextprobe.workbench.words import SuspectRecord

STEP = StepRecord("check:touch", "Check: touch", "check", True, 149.63, 1.6, 1.6, 1.6)
PLAYED = Played((Step("check:touch", (), Cost()),), "close", Cost(600.0), 31.65, True, (), False)


def shown(part: RenderableType, width: int = 80) -> str:
    console = Console(file=io.StringIO(), width=width, highlight=False, force_terminal=False)
    console.print(part)
    text = console.file.getvalue()  # type: ignore[attr-defined]
    lines = [line.rstrip() for line in text.splitlines()]
    assert all(len(line) <= width for line in lines)
    return "\n".join(lines)


def suspect(title: str, now: float, prior: float, remaining: float | None = None) -> SuspectRecord:
    left = now if remaining is None else remaining
    return SuspectRecord("key", title, "cause", now, left, prior, "likely")


def touched(point: str, value: float | None) -> Move:
    shown_value = OVER_RANGE if value is None else value
    return Move(Probe(point), "", Reading(point, shown_value, BenchSetup(MeterMode.DIODE)))


def test_a_step_says_price_reason_and_caution() -> None:
    reasons = (
        Reason("price", "costs 1.60 EUR by itself"),
        Reason("saves", "saves 6.24 EUR over the best fixed order"),
        Reason("bounds", "the whole job should cost 149.63 EUR"),
        Reason(
            "runner-up", "with 'Check: sound' first, 2 EUR more", {"cost": 151.6, "margin": 2.0}
        ),
    )
    text = shown(story.step(3, replace(STEP, reasons=reasons, cautions=("Mind the cell.",)), "EUR"))
    assert text.splitlines()[1] == " 3  Check: touch"
    assert "costs 1.60 EUR, 2 min; the whole job about 150 EUR" in text
    assert [line.split()[0] for line in text.splitlines()[3:]] == ["because", "because", "CAUTION"]


def test_a_runner_up_at_twice_the_cost_is_left_out() -> None:
    far = Reason("runner-up", "with 'Decline' first", {"cost": 250.0, "margin": 200.0})
    assert "Decline" not in shown(story.step(1, replace(STEP, reasons=(far,)), "EUR"))


def test_outcomes_that_lead_to_the_same_step_stand_together_likeliest_first() -> None:
    branches = (
        Branch("fails", 0.3, "x", 1.0, "Fit it"),
        Branch("refresh failed", 0.1, "y", 1.0, "Refresh again"),
        Branch("works", 0.6, "x", 1.0, "Fit it"),
    )
    lines = shown(story.step(1, replace(STEP, branches=branches), "EUR")).splitlines()
    assert lines[-2].strip() == "if it works (60 %) or it fails (30 %): Fit it"
    assert lines[-1].strip() == "if the refresh fails (10 %): Refresh again"


def test_the_points_of_a_run_are_counted_not_listed() -> None:
    points = tuple(f"J4.{number}" for number in range(1, 31))
    text = shown(story.step(1, replace(STEP, kind="run", how=points), "EUR"))
    assert "J4.1, J4.2, J4.3, J4.4, J4.5, J4.6 and 24 more" in text
    assert "J4.7" not in text


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("works", "it works"),
        ("refresh failed", "the refresh fails"),
        ("nothing", "it shows nothing"),
        ("answers, no picture", "it shows ‘answers, no picture’"),
        ("as expected", "it reads as expected"),
        ("J4.12 over-range", "J4.12 reads over-range"),
    ],
)
def test_outcomes_in_words(label: str, words: str) -> None:
    assert story.say_seen(label) == words


@pytest.mark.parametrize(
    ("moves", "words"),
    [
        ([Move(Fit("imaging", "donor")), Move(Check("imaging"), "fails")], "it fails"),
        ([Move(Refresh("update"), "failed")], "the refresh fails"),
        ([touched("J4.3", 0.0301)], "J4.3 reads 0.030 V (diode)"),
        (
            [touched("J4.3", 0.45), touched("J4.4", None), touched("J4.4", None)],
            "3 readings; the last: J4.4 reads OL (diode) again",
        ),
    ],
)
def test_what_came_of_a_step(moves: list[Move], words: str) -> None:
    assert shown(story.outcome(moves, ())).strip() == f"► seen {words}"


def test_what_should_be_said_unasked_follows_what_was_seen() -> None:
    act: Act = Check("imaging")
    text = shown(story.outcome([Move(act, "fails")], [Remark("weak trial", "This says little.")]))
    assert text.splitlines()[1].split() == ["NOTE", "This", "says", "little."]


def test_numbers_and_bars_of_suspects_stand_in_columns_whatever_the_titles() -> None:
    long = "firmware no longer recognises the imaging module of the left camera"
    found = [suspect(long, 0.9996, 0.05), suspect("dirt", 0.08, 0.08), suspect("leak", 0.02, 0.3)]
    lines = [
        line for line in shown(story.suspects(found)).splitlines() if "·" in line or "█" in line
    ]
    assert [line.index("%") for line in lines] == [16, 16, 16]
    bars = [line[18:34] for line in lines]
    assert all(set(each) <= {"█", "·"} for each in bars)
    assert [each.count("█") for each in bars] == [16, 1, 0]
    assert "> 99.9 %" in lines[0]


def test_a_suspect_says_where_it_came_from_and_whether_it_is_put_right() -> None:
    text = shown(story.suspects([suspect("dirt in J4", 0.8, 0.1, remaining=0.05)]))
    assert text.endswith("dirt in J4, put right by now (10 % at first)")
    assert "at first" not in shown(story.suspects([suspect("dirt in J4", 0.1, 0.1)]))


def test_suspects_of_no_weight_take_no_line() -> None:
    found = [suspect("dirt", 0.97, 0.1), suspect("leak", 0.001, 0.3)]
    assert "leak" not in shown(story.suspects(found))


@pytest.mark.parametrize(
    ("played", "finished", "words"),
    [
        (PLAYED, True, "Handed over: the right repair."),
        (replace(PLAYED, cured=False), True, "Handed over: NOT repaired."),
        (
            replace(PLAYED, sold_in_vain=("imaging",)),
            True,
            "Handed over: repaired, but a good module was sold.",
        ),
        (replace(PLAYED, ending="decline", cured=False), True, "Declined: not repaired."),
        (replace(PLAYED, ending="decline"), False, "Stopped before the end."),
    ],
)
def test_the_ending(played: Played, finished: bool, words: str) -> None:
    text = shown(story.ending(played, finished, "EUR"))
    assert words in text.splitlines()
    assert "1 step, 10 min of work" in text
    assert ("31.65 EUR in all" in text) is finished
