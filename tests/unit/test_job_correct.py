"""Undo by adding: corrections take the place of what they correct, and the record keeps both."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nextprobe import Job
from nextprobe.board import MeterMode
from nextprobe.diagnosis import Check, FaultTables, Fit, Probe
from nextprobe.errors import DataError, MisuseError
from nextprobe.workbench.words import SuspectRecord

TABLES = FaultTables()
"""Shared: the demo board is solved once."""


def unnumbered(job: Job) -> list[SuspectRecord]:
    """Return the suspects without the numbers of the events: a correction has one of its own."""
    return [
        replace(suspect, moved=tuple(replace(each, event=0) for each in suspect.moved))
        for suspect in job.suspects(None)
    ]


@pytest.fixture
def job() -> Job:
    return Job.start("courier-handheld", tables=TABLES, complaint="imaging", history=["drop"])


def test_a_corrected_reading_counts_when_it_was_taken(job: Job) -> None:
    job.read("J4.4", "0.053")
    moment = job.so_far.moves[0].reading
    job.check("imaging", "fails")
    recorded = job.correct(2, "0.532")
    first, second = job.so_far.moves
    assert recorded.event == 4
    assert first.act == Probe("J4.4")
    assert first.reading is not None
    assert moment is not None
    assert (first.reading.value, first.reading.time) == (0.532, moment.time)
    assert second.act == Check("imaging")
    assert [event.number for event in job.events()] == [1, 2, 3, 4]


def test_a_correction_equals_having_been_right_at_once(job: Job) -> None:
    job.look("imaging self-test", "no answer")
    job.trial("imaging", "fails")
    job.correct(2, "answers, not accepted")
    right = Job.start("courier-handheld", tables=TABLES, complaint="imaging", history=["drop"])
    right.look("imaging self-test", "answers, not accepted")
    right.trial("imaging", "fails")
    assert unnumbered(job) == unnumbered(right)


def test_a_correction_may_change_how_far_a_step_got(job: Job) -> None:
    job.trial("imaging", "refresh failed", form="fit-refresh")
    assert len(job.so_far.moves) == 2
    job.correct(2, "works")
    assert [type(move.act) for move in job.so_far.moves][-1] is Check
    assert job.so_far.moves[0].act == Fit("imaging", "donor")


def test_a_corrected_donor_reading_stays_the_donors(job: Job) -> None:
    job.read("J4.4", "4700", device="donor", mode="ohms")
    job.correct(2, "2k2")
    move = job.so_far.moves[0]
    assert move.act == Probe("J4.4", "donor", MeterMode.OHMS)
    assert move.reading is not None
    assert move.reading.value == 2200.0
    with pytest.raises(DataError):
        job.correct(3, "0.4 V")


def test_many_readings_are_corrected_together(job: Job) -> None:
    job.read_many([("J4.3", "0.6"), ("J4.4", "0.5")], device="donor")
    with pytest.raises(MisuseError, match="2 readings"):
        job.correct(2, "0.5")
    job.correct(2, [("J4.3", "0.61"), ("J4.4", "0.51"), ("J4.5", "0.6")])
    assert [move.act for move in job.so_far.moves] == [
        Probe(f"J4.{pin}", "donor") for pin in (3, 4, 5)
    ]


def test_the_intake_can_be_corrected_in_its_fields_alone(job: Job) -> None:
    job.check("touch", "works")
    job.correct(1, complaint="front camera", history=["liquid"], may_wipe=True)
    assert job.so_far.intake.complaint == "front camera"
    assert job.so_far.intake.history == ("liquid",)
    assert job.case.model.complaint == "front camera"
    assert len(job.so_far.moves) == 1
    with pytest.raises(MisuseError, match="did you mean 'imaging'"):
        job.correct(3, complaint="imagin")
    with pytest.raises(MisuseError, match="no 'colour'"):
        job.correct(3, colour="red")
    with pytest.raises(MisuseError, match="which field"):
        job.correct(3)


def test_notes_and_free_work_are_corrected(job: Job) -> None:
    job.note("smells of tea")
    job.correct(2, "smells of coffee")
    assert job.so_far.notes == ((3, "smells of coffee"),)
    job.work("backup", "imaging")
    job.correct(4, "works")
    assert [move.result for move in job.so_far.moves] == ["done", "works"]


def test_what_was_withdrawn_can_stand_again(job: Job) -> None:
    before = job.suspects(None)
    job.check("fingerprint", "works")
    after = unnumbered(job)
    job.withdraw(2)
    assert job.suspects(None) == before
    job.correct(3)
    assert unnumbered(job) == after
    assert [event.kind for event in job.events()][2:] == ["withdrawn", "moves recorded"]


def test_the_end_is_withdrawn_and_not_corrected(job: Job) -> None:
    job.close("decline")
    with pytest.raises(MisuseError, match="withdraw it"):
        job.correct(2, "close")


@pytest.mark.parametrize("number", [0, -1, 7])
def test_events_that_are_not_there(job: Job, number: int) -> None:
    with pytest.raises(MisuseError, match=f"no event {number}"):
        job.correct(number, "works")
    with pytest.raises(MisuseError, match=f"no event {number}"):
        job.withdraw(number)


def test_an_event_is_corrected_once_and_then_its_correction(job: Job) -> None:
    job.check("imaging", "fails")
    job.correct(2, "works")
    with pytest.raises(MisuseError, match="correct the one in its place"):
        job.correct(2, "fails")
    with pytest.raises(MisuseError, match="correct that one"):
        job.withdraw(2)
    job.correct(3, "fails")
    assert job.case.situation.working is False


def test_the_log_in_words_shows_what_no_longer_counts(job: Job) -> None:
    job.check("imaging", "fails")
    job.correct(2, "works")
    lines = job.history()
    assert [line.stands for line in lines] == [True, False, True]
    assert lines[1].said == ("check imaging: fails",)
    assert lines[2].supersedes == 2
