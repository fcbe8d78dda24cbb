"""What a job learns about the board while it goes on."""

from __future__ import annotations

import pytest

from nextprobe import Job
from nextprobe.board import OVER_RANGE, MeterMode, PartKind, Role
from nextprobe.errors import DataError, MisuseError
from nextprobe.store import MemoryStore
from nextprobe.workbench.knowledge import linked
from nextprobe.workbench.log import EventLog

PINOUT = "1 gnd\n2 VDD_CAM .612\n3 CAM_SDA .452\n4 CAM_SCL .455\n5 D0P .31\n6 D0N OL\n"


@pytest.fixture
def job() -> Job:
    return Job.start(template="camera", device="Brindle 4")


def test_a_pinout_makes_a_board_with_references(job: Job) -> None:
    recorded = job.add_pinout(PINOUT, connector="J4")
    assert recorded.findings == ()
    board = job.knowledge.board
    assert board is not None
    assert board.net_of("J4.3") == "CAM_SDA"
    assert board.role("VDD_CAM") is Role.RAIL
    reference = job.knowledge.references["J4.3", MeterMode.DIODE]
    assert (reference.value, reference.boards, reference.source) == (0.452, 1, "pinout")
    assert job.knowledge.references["J4.6", MeterMode.DIODE].value is OVER_RANGE
    assert any(step.kind == "run" for step in job.next_steps(None))


def test_the_module_of_the_complaint_plugs_into_the_connector_of_the_pinout(job: Job) -> None:
    assert any(item.key == "dirt:camera" for item in job.suspects(None))
    job.add_pinout(PINOUT, connector="J4")
    pack = job.knowledge.pack
    assert pack.modules["camera"].connector == "J4"
    assert pack.looks["look at the camera connector"].connector == "J4"
    assert pack.provenance["modules.camera.connector"] == "pinout typed in this job"
    assert any(item.key == "dirt:J4" for item in job.suspects(None))
    assert job.so_far.package.pack.modules["camera"].connector is None


def test_a_connector_that_is_known_is_not_linked_again() -> None:
    job = Job.start("courier-handheld", complaint="imaging")
    job.add_pinout("1 gnd\n2 ABC .4\n", connector="J99")
    assert job.knowledge.pack is job.so_far.package.pack
    assert linked(job.knowledge.pack, "imaging", job.so_far.learnt.pinouts[0]) is job.knowledge.pack


def test_work_done_before_the_connector_was_known_counts_at_it(job: Job) -> None:
    job.record("work:clean:camera", "fails")
    dirty = {item.key: item.remaining for item in job.suspects(None)}["dirt:camera"]
    job.add_pinout(PINOUT, connector="J4")
    assert {item.key: item.remaining for item in job.suspects(None)}["dirt:J4"] == pytest.approx(
        dirty, rel=0.5
    )
    with_clean = {item.key: item.remaining for item in job.suspects(None)}["dirt:J4"]
    job.withdraw(2)
    assert {item.key: item.remaining for item in job.suspects(None)}["dirt:J4"] > 3 * with_clean


def test_chains_grow_the_board_and_take_the_place_of_a_stand_in(job: Job) -> None:
    job.add_pinout(PINOUT, connector="J4")
    recorded = job.add_chains("J4.3 > R7 33R > U3.A4\n")
    assert "new: R7, U3" in recorded.said
    board = job.knowledge.board
    assert board is not None
    assert board.part("R7").kind is PartKind.RESISTOR
    assert not any(part.implied for part, _ in board.parts_on("CAM_SDA"))
    assert any(item.key.endswith(":R7") for item in job.suspects(None))


def test_chains_alone_make_a_board(job: Job) -> None:
    job.add_chains("J4.3 > CAM_SDA > U3.A4")
    assert job.knowledge.board is not None
    assert job.knowledge.board.net_of("U3.A4") == "CAM_SDA"


def test_a_pinout_after_the_chains_gives_the_same_board_as_before_them(job: Job) -> None:
    chains = "J4.3 > R7 33R > U3.A4\nJ4.2 > FB1 120R > VSYS\n"
    job.add_pinout(PINOUT, connector="J4")
    job.add_chains(chains)
    other = Job.start(template="camera", device="Brindle 4")
    other.add_chains(chains)
    other.add_pinout(PINOUT, connector="J4")
    assert other.knowledge == job.knowledge


def test_a_broken_line_is_said_and_the_others_are_used(job: Job) -> None:
    recorded = job.add_chains("J4.3 > R7 33R > U3.A4\nJ4.4 > > R8\n")
    assert [(f.where.line, bool(f.remedy)) for f in recorded.findings] == [(2, True)]
    assert job.knowledge.board is not None
    assert "R7" in job.knowledge.board.by_reference


@pytest.mark.parametrize("text", ["", "> >", "# only a comment"])
def test_chains_that_say_nothing_are_refused(job: Job, text: str) -> None:
    with pytest.raises(DataError):
        job.add_chains(text)
    assert len(job.events()) == 1


def test_a_pinout_without_a_pin_is_refused(job: Job) -> None:
    with pytest.raises(DataError) as caught:
        job.add_pinout("hello\n")
    assert caught.value.findings[0].where.line == 1
    assert len(job.events()) == 1


def test_a_pinout_teaches_roles_to_a_board_and_adds_pins_it_lacks() -> None:
    job = Job.start("courier-handheld", complaint="imaging")
    board = job.knowledge.board
    assert board is not None
    net = board.net_of("J4.3")
    job.add_pinout("3 whatever .66\n77 NEW_SIG .5\n78 VDD18 .4\n", connector="J4")
    grown = job.knowledge.board
    assert grown is not None
    assert grown.net_of("J4.3") == net
    assert grown.net_of("J4.77") == "NEW_SIG"
    assert [part.reference for part, _ in grown.parts_on("NEW_SIG")] == ["J4", "U?J4"]
    assert "VDD18" in board.nets
    assert not any(part.implied for part, _ in grown.parts_on("VDD18"))
    assert job.knowledge.references["J4.3", MeterMode.DIODE].boards == 2


def test_readings_taken_before_the_board_was_known_count_afterwards(job: Job) -> None:
    recorded = job.read("J4.3", "0.003")
    assert "no board is known yet" in recorded.findings[0].what
    before = job.suspects(1)[0]
    job.add_pinout(PINOUT, connector="J4")
    after = job.suspects(1)[0]
    assert before.key == "module-bad:camera"
    assert after.key != before.key
    assert any(moved.evidence == "J4.3 reads 0.003 V (diode)" for moved in after.moved)


def test_a_role_is_set_by_pin_and_by_net(job: Job) -> None:
    job.add_pinout(PINOUT, connector="J4")
    job.set_role("J4.5", "core-rail")
    assert job.knowledge.board is not None
    assert job.knowledge.board.role("D0P") is Role.CORE_RAIL
    with pytest.raises(MisuseError, match="core rail"):
        job.set_role("J4.5", "core rails")
    with pytest.raises(MisuseError, match="no pin or net"):
        job.set_role("J9.1", "rail")


def test_a_role_without_a_board_is_refused(job: Job) -> None:
    with pytest.raises(MisuseError, match="add a pinout or a chain"):
        job.set_role("J4.5", "rail")


def test_a_role_whose_net_is_gone_is_said(job: Job) -> None:
    job.add_pinout(PINOUT, connector="J4")
    job.set_role("J4.5", "rail")
    job.withdraw(2)
    assert any("J4.5 was given the role rail" in finding.what for finding in job.findings())


def test_a_corrected_pinout_carries_through_the_chains_on_it(job: Job) -> None:
    job.add_pinout(PINOUT, connector="J4")
    job.add_chains("J4.3 > R7 33R > U3.A4\n")
    job.correct(2, PINOUT.replace("CAM_SDA", "CAM_INT"))
    board = job.knowledge.board
    assert board is not None
    assert board.net_of("R7.1") == "CAM_INT"
    assert "CAM_SDA" not in board.nets


def test_another_engine_version_is_said() -> None:
    store = MemoryStore()
    job = Job.start(template="camera", store=store)
    EventLog(store, job.job_id, engine_version="0.0.9").append("note", {"text": "older"})
    [finding] = Job.open(job.job_id, store).findings()
    assert "1 of 2 events" in finding.what
    assert finding.severity == "note"
