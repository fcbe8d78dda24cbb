"""An entry that a client names is written once, however often it is sent."""

from __future__ import annotations

from pathlib import Path

import pytest

from nextprobe import Job
from nextprobe.errors import RepeatedKeyError
from nextprobe.workbench.entry_names import EntryName


def bare(store: Path | None = None) -> Job:
    return Job.start(template="camera", device="Satchel 3", store=store)


def test_a_repeated_entry_is_written_once_and_answers_alike() -> None:
    job, name = bare(), EntryName("tap-1", "a")
    assert job.entered(name) is None
    with job.named(name):
        first = job.read("J4.3", "0.452")
    with job.named(name):
        job.read("J4.3", "0.452")
    assert len(job.events()) == 2
    assert job.entered(name) == first


def test_it_is_found_by_another_program(tmp_path: Path) -> None:
    job, name = bare(tmp_path), EntryName("tap-1", "a")
    other = Job.open(job.job_id, tmp_path)
    with job.named(name):
        first = job.note("scratched")
    with other.named(name):
        other.note("scratched")
    assert len(other.events()) == 2
    assert Job.open(job.job_id, tmp_path).entered(name) == first


def test_the_same_key_for_something_else_is_refused() -> None:
    job = bare()
    with job.named(EntryName("tap-1", "a")):
        job.note("one")
    with pytest.raises(RepeatedKeyError, match="event 2"), job.named(EntryName("tap-1", "b")):
        job.note("two")
    assert len(job.events()) == 2


def test_what_stands_again_has_no_name() -> None:
    job = bare()
    with job.named(EntryName("tap-1", "a")):
        job.note("one")
    job.withdraw(2)
    job.correct(3)
    assert [line.stands for line in job.history()] == [True, False, False, True]
    assert "entry" not in job.events()[-1].payload


def test_a_text_that_looks_like_a_key_is_none() -> None:
    job = bare()
    job.note('"key":"tap-1"')
    assert job.entered(EntryName("tap-1", "a")) is None
