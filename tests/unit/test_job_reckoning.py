"""What a suspect's odds are made of, as a job says it."""

from __future__ import annotations

import math

import pytest

from nextprobe import Job
from nextprobe.diagnosis import FaultTables
from nextprobe.errors import MisuseError

TABLES = FaultTables()
"""Shared: the demo board is solved once."""
LEAK = "leaky:D404"


@pytest.fixture(scope="module")
def job() -> Job:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging", history=["liquid"])
    job.check("fingerprint", "works")
    job.trial("imaging", "fails")
    job.read_many([("J4.3", "0.45"), ("J4.5", "0.2"), ("J4.6", "0.41")])
    job.read("J4.5", "0.2")
    job.read("J4.5", "0.45", "donor")
    return job


def test_the_sum_is_where_the_suspect_stands(job: Job) -> None:
    for suspect in job.suspects(6):
        found = job.why_suspect(suspect.key)
        story = sum(each.nats for each in found.story)
        seen = sum(each.nats for each in found.moved)
        assert found.at_first.nats + story == pytest.approx(found.came_in.nats, abs=1e-9)
        assert found.came_in.nats + seen == pytest.approx(found.now.nats, abs=1e-9)
        assert found.probability == pytest.approx(suspect.probability, abs=1e-9)
        assert found.came_in.probability == pytest.approx(suspect.prior, abs=1e-9)


def test_every_observation_has_its_part_and_its_event(job: Job) -> None:
    moved = job.why_suspect("module-bad:imaging").moved
    assert [(each.kind, each.event) for each in moved] == [
        ("works", 2), ("trial", 3), ("reading", 4), ("reading", 4), ("reading", 4), ("reading", 5),
        ("known-good reading", 6),
    ]  # fmt: skip
    assert "first touch" in moved[5].note
    assert "what to expect" in moved[6].note
    assert {each.note for each in moved[:3]} == {""}


def test_numbers_agree_with_each_other(job: Job) -> None:
    for each in job.why_suspect("unlisted").moved:
        assert each.factor == pytest.approx(math.exp(each.nats))
        assert each.decibans == pytest.approx(10.0 * math.log10(each.factor), abs=1e-9)


def test_suspects_are_explained_in_the_same_parts(job: Job) -> None:
    for suspect in job.suspects(4):
        whole = [each for each in job.why_suspect(suspect.key).moved if abs(each.nats) > 1e-9]
        assert [each.evidence for each in suspect.moved] == [each.evidence for each in whole]
        for listed, asked in zip(suspect.moved, whole, strict=True):
            assert listed.nats == pytest.approx(asked.nats, abs=1e-12)


def test_suspects_without_reasons_have_none(job: Job) -> None:
    assert {suspect.moved for suspect in job.suspects(3, reasons=False)} == {()}


def test_what_moved_it_most_is_said_first_in_words(job: Job) -> None:
    found = job.why_suspect("module-bad:imaging")
    least = min((*found.story, *found.moved), key=lambda each: each.nats)
    [lowered] = [said for said in found.said if said.startswith("lowered")]
    assert least.evidence in lowered
    assert lowered.endswith(" lower")


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("module-bad:imaging", "module-bad:imaging"),
        ("Imaging module is BAD", "module-bad:imaging"),
        ("unlisted", "unlisted:imaging"),
        ("firmware corrupt", "firmware-corrupt:firmware"),
        ("d404", "d404"),
        ("J4", "J4"),
    ],
)
def test_a_suspect_is_known_by_key_title_or_place(job: Job, name: str, key: str) -> None:
    assert job.why_suspect(name).key == key


def test_a_place_has_the_probability_of_all_that_may_be_wrong_there(job: Job) -> None:
    here = [item for item in job.suspects(None, reasons=False) if item.key.endswith(":D404")]
    assert len(here) > 1
    most = max(item.probability for item in here)
    assert most <= job.why_suspect("D404").probability
    assert job.why_suspect("D404").probability <= sum(item.probability for item in here) + 1e-12


def test_an_unknown_suspect_is_told_what_is_like_it(job: Job) -> None:
    with pytest.raises(MisuseError, match="like it: module-bad:imaging"):
        job.why_suspect("module-bad:imagin")


@pytest.mark.parametrize("about", ["J4.5", "4", "j4.5 reads 0.200"])
def test_evidence_is_split_by_rival(job: Job, about: str) -> None:
    found = job.why_suspect("liquid-residue:J4", about)
    asked = [each.nats for each in found.moved if each.evidence in found.about]
    assert sum(each.nats for each in found.against) == pytest.approx(sum(asked), abs=1e-9)
    assert found.against[0].words == "speaks against it"
    assert found.against[-1].title == "all others"


def test_unknown_evidence_is_misuse(job: Job) -> None:
    with pytest.raises(MisuseError, match="no evidence"):
        job.why_suspect(LEAK, "J9.1")


def test_before_anything_was_seen_only_the_story_speaks() -> None:
    found = Job.start("courier-handheld", tables=TABLES, complaint="imaging").why_suspect("J4")
    assert found.moved == ()
    assert found.now == found.came_in
    assert [each.kind for each in found.story] == ["story"]


def test_many_readings_are_shared_out_over_some_orders_and_say_so() -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging")
    job.read_many([(f"J4.{pin}", "0.45") for pin in range(3, 23)])
    found = job.why_suspect("liquid-residue:J4")
    assert found.orders > 0
    assert f"{found.orders} orders" in found.shares
    assert max(each.error for each in found.moved) > 0.0
    seen = sum(each.nats for each in found.moved)
    assert found.came_in.nats + seen == pytest.approx(found.now.nats, abs=1e-9)


def test_a_reading_that_is_kept_and_not_weighed_says_so() -> None:
    job = Job.start(template="camera", device="Brindle 4")
    job.read("J4.3", "0.003")
    [part] = job.why_suspect("unlisted").moved
    assert (part.nats, part.note) == (0.0, "kept, and not weighed: nothing is predicted there")
