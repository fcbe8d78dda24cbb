"""Starting jobs: from a demo pack, a template, a folder, and from what makes no sense."""

from __future__ import annotations

from pathlib import Path

import pytest

import nextprobe
import nextprobe.job
from nextprobe import Job
from nextprobe.errors import DataError, MisuseError, StoreConflictError
from nextprobe.packs import pack_from_template
from nextprobe.store import MemoryStore
from nextprobe.workbench.record import STARTED


def test_the_facade_is_the_job_of_the_job_package() -> None:
    assert nextprobe.Job is nextprobe.job.Job
    with pytest.raises(AttributeError, match="Jop"):
        _ = nextprobe.Jop


def test_a_job_from_a_template_alone_has_sensible_first_steps() -> None:
    job = Job.start(template="camera", device="Parcel Reader 7")
    assert job.knowledge.board is None
    kinds = {step.kind for step in job.next_steps(8)}
    assert {"look", "trial", "work"} <= kinds
    assert kinds.isdisjoint({"reading", "run"})
    first = job.next_steps(1)[0]
    assert first.recommended
    assert first.reasons
    assert first.answers


def test_names_of_jobs_are_short_and_count_up() -> None:
    store = MemoryStore()
    names = [
        Job.start(template="touch", device=device, store=store).job_id
        for device in ("Satchel 3", "Satchel 3", "Grüße!", "")
    ]
    assert names == ["satchel-3-001", "satchel-3-002", "gr-e-001", "device-001"]


def test_a_name_that_is_taken_is_refused() -> None:
    store = MemoryStore()
    Job.start(template="touch", store=store, job_id="bench-a")
    with pytest.raises(StoreConflictError, match="bench-a"):
        Job.start(template="touch", store=store, job_id="bench-a")


def test_the_first_event_holds_all_that_the_pack_said() -> None:
    job = Job.start("courier-handheld", complaint="imaging", says="black", history=["drop"])
    [event] = job.events()
    assert event.kind == STARTED
    assert event.pack_hash == job.so_far.package.hash
    assert job.so_far.intake.ceiling == 190.0
    assert job.so_far.intake.device == "Satchel 3"
    assert job.knowledge.board is not None
    assert len(job.knowledge.references) > 20


def test_what_the_pack_allows_is_a_limit_on_what_is_offered() -> None:
    careful = Job.start("courier-handheld", complaint="imaging")
    offered = {option.id for option in careful.case.problem.options(careful.case.situation)}
    assert "refresh:update" in offered
    assert "refresh:restore" not in offered
    bold = Job.start("courier-handheld", complaint="imaging", may_wipe=True, ceiling=1000.0)
    offered = {option.id for option in bold.case.problem.options(bold.case.situation)}
    assert "refresh:restore" in offered


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({}, "pack or from a template"),
        ({"pack": "courier-handheld", "template": "camera"}, "pack or from a template"),
        ({"pack": "no/such/folder"}, "no pack folder no/such/folder"),
        ({"pack": "courier-handheld"}, "say what fails"),
        ({"pack": "courier-handheld", "complaint": "imagin"}, "did you mean 'imaging'"),
        ({"template": "camera", "history": ["dropped"]}, "did you mean 'drop'"),
        ({"template": "camera", "ceiling": -1.0}, "ceiling"),
    ],
)
def test_a_start_that_makes_no_sense_is_refused(arguments: dict[str, object], said: str) -> None:
    with pytest.raises(MisuseError, match=said):
        Job.start(**arguments)  # type: ignore[arg-type]


def test_a_pack_with_mistakes_says_where(tmp_path: Path) -> None:
    (tmp_path / "device.yaml").write_text("device: {name: X}\nfunctions: {cam: {clas: camera}}\n")
    with pytest.raises(DataError) as caught:
        Job.start(tmp_path)
    assert any("class" in str(finding) for finding in caught.value.findings)


def test_a_broken_chain_in_a_pack_is_said_and_the_rest_is_used(tmp_path: Path) -> None:
    (tmp_path / "device.yaml").write_text("device: {name: X}\nfunctions: {cam: {class: camera}}\n")
    (tmp_path / "chains.txt").write_text("J4.1 > U1.A1\nJ4.2 > > C1\n")
    job = Job.start(tmp_path)
    assert [finding.where.line for finding in job.started_with] == [2]
    assert job.knowledge.board is not None
    assert job.knowledge.board.has_point("J4.1")


def test_a_pack_object_will_do() -> None:
    job = Job.start(pack_from_template("sound", "Little Radio"))
    assert job.so_far.intake.complaint == "sound"
    assert job.so_far.package.source == "given"
