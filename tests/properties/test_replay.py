"""Replaying a log gives what was shown while it was written; corrections are as good as new."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nextprobe import Job
from nextprobe.diagnosis import FaultTables
from nextprobe.store import MemoryStore
from nextprobe.workbench.record import with_event

PINOUT = "1 gnd\n2 VDD_CAM .612\n3 CAM_SDA .452\n4 CAM_SCL .455\n5 D0P .31\n6 D0N .31\n"
CHAIN = "J4.3 > R7 33R > U3.A4"
VALUES = st.sampled_from(["OL", "gnd", "0.45", ".31", "612", "1.2", 0.4521])
POINTS = st.sampled_from(["J4.2", "J4.3", "J4.5", "J4.99"])

ENTRIES = st.one_of(
    st.tuples(st.just("read"), POINTS, VALUES, st.sampled_from(["patient", "donor"])),
    st.tuples(st.just("check"), st.just("camera"), st.sampled_from(["works", "fails"])),
    st.tuples(
        st.just("trial"),
        st.just("camera"),
        st.sampled_from(["works", "fails"]),
        st.sampled_from(["fit", "refit"]),
    ),
    st.tuples(
        st.just("refresh"), st.just("update"), st.sampled_from(["fails", "refresh failed E-1"])
    ),
    st.tuples(st.just("look"), st.just("liquid indicator"), st.sampled_from(["nothing"])),
    st.tuples(st.just("work"), st.just("clean"), st.just("camera"), st.sampled_from(["", "fails"])),
    st.tuples(st.just("note"), st.just("hm")),
    st.tuples(st.just("add_pinout"), st.just(PINOUT), st.just("J4")),
    st.tuples(st.just("add_chains"), st.just(CHAIN)),
)
TABLES = FaultTables()


def enter(job: Job, entry: tuple[Any, ...]) -> None:
    name, *arguments = entry
    if name == "add_chains" and job.so_far.learnt.chains:
        return
    getattr(job, name)(*arguments)


def played(entries: list[tuple[Any, ...]]) -> tuple[Job, MemoryStore]:
    store = MemoryStore()
    job = Job.start(template="camera", device="Brindle 4", store=store, tables=TABLES)
    for entry in entries:
        enter(job, entry)
    return job, store


def same(one: Job, other: Job) -> None:
    assert one.so_far == other.so_far
    assert one.knowledge == other.knowledge
    assert one.case.moves == other.case.moves
    assert one.suspects(None) == other.suspects(None)
    assert one.case.situation.configuration == other.case.situation.configuration
    assert one.case.situation.tried == other.case.situation.tried


untimed = settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])


@untimed
@given(st.lists(ENTRIES, max_size=6))
def test_replaying_equals_living(entries: list[tuple[Any, ...]]) -> None:
    job, store = played(entries)
    same(job, Job.open(job.job_id, store, TABLES))


@untimed
@given(st.lists(ENTRIES, min_size=1, max_size=5), st.data())
def test_withdrawing_equals_never_having_entered(
    entries: list[tuple[Any, ...]], data: st.DataObject
) -> None:
    job, _ = played(entries)
    last = len(job.events())
    if last == 1:
        return
    before, _ = played(entries[:-1])
    if len(before.events()) == last - 1:
        job.withdraw(last)
        assert job.suspects(None) == before.suspects(None)
        assert job.knowledge == before.knowledge


@untimed
@given(st.lists(ENTRIES, max_size=4), VALUES, VALUES, st.lists(ENTRIES, max_size=2))
def test_a_correction_equals_having_been_right(
    before: list[tuple[Any, ...]], wrong: Any, right: Any, after: list[tuple[Any, ...]]
) -> None:
    corrected, _ = played(before)
    corrected.read("J4.3", wrong)
    number = len(corrected.events())
    for entry in after:
        enter(corrected, entry)
    corrected.correct(number, right)
    straight, _ = played([*before, ("read", "J4.3", right), *after])
    assert [m.act for m in corrected.case.moves] == [m.act for m in straight.case.moves]
    live = {item.key: item.probability for item in straight.suspects(None)}
    for item in corrected.suspects(None):
        np.testing.assert_allclose(item.probability, live[item.key], rtol=1e-12)


@untimed
@given(st.lists(ENTRIES, max_size=6))
def test_reading_a_log_event_by_event_gives_the_whole(entries: list[tuple[Any, ...]]) -> None:
    job, store = played(entries)
    first = Job.open(job.job_id, store).events()[0]
    record = Job.start(template="camera", device="Brindle 4").so_far
    assert first.payload["device"] == "Brindle 4"
    for event in job.events()[1:]:
        record = with_event(record, event)
    assert record == job.so_far
