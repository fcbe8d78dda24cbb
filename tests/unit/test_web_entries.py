"""Everything that is entered over the interface, once for each key."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served

from nextprobe import Job


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        found.start()
        yield found


def said(bench: Bench) -> list[str]:
    return ["; ".join(line["said"]) for line in bench.get("./events")["events"] if line["stands"]]


def test_each_verb_of_the_trade(bench: Bench) -> None:
    bench.post("./checks", function="camera", result="fails")
    bench.post("./readings", readings=[["J4.3", 0.12]])
    bench.post("./readings", text="J4.2 0.611\nJ4.4 OL", device="donor")
    bench.post("./looks", look="camera self-test", result="nothing")
    bench.post("./trials", module="camera", result="fails", form="fit")
    bench.post("./refreshes", refresh="update", result="fails")
    bench.post("./work", work="clean", place="J4", result="fails")
    bench.post("./notes", text="scratched lens")
    bench.post("./roles", point="J4.3", role="open drain")
    bench.post("./chains", text="J4.3 > R7 33R > U1.A4")
    bench.post("./pinouts", text="5\tCAM_CLK\t0.5\n", connector="J4")
    bench.post("./results", step="probe:J4.4", result="over-range")
    bench.post("./closing", ending="decline")
    lines = said(bench)
    assert lines[1:4] == [
        "check camera: fails",
        "J4.3 reads 0.120 V (diode)",
        "donor: J4.2 reads 0.611 V (diode); donor: J4.4 reads OL (diode)",
    ]
    assert (lines[-1], len(lines)) == ("decline", 14)
    state = bench.get(".")
    assert (state["overview"]["ending"], state["version"]) == ("decline", 14)


def test_a_repeated_key_writes_nothing_and_gives_the_first_answer(bench: Bench) -> None:
    body = {"key": "tap-00001", "text": "J4.3 0.12\nnonsense"}
    first = bench.post("./readings", **body)
    again = bench.post("./readings", **body)
    assert (first.pop("repeated"), again.pop("repeated")) == (False, True)
    assert first == again
    assert first["findings"][0]["what"] == "'nonsense' is not a pin"
    assert bench.get(".")["version"] == 2


def test_the_first_answer_outlives_what_came_after(bench: Bench) -> None:
    first = bench.post("./notes", key="note-0001", text="one")
    bench.post("./closing", ending="decline")
    bench.post("./readings", 422, readings=[["J4.3", 0.4]])
    again = bench.post("./notes", key="note-0001", text="one")
    assert again["recorded"] == first["recorded"]
    assert bench.post("./withdrawals", event=3)["recorded"]["event"] == 4


def test_a_key_is_for_one_entry(bench: Bench) -> None:
    bench.post("./notes", key="note-0001", text="one")
    assert bench.post("./notes", 409, key="note-0001", text="two")["error"]["kind"] == (
        "repeated key"
    )
    bench.post("./checks", 409, key="note-0001", function="camera", result="fails")
    assert bench.get(".")["version"] == 2


def test_it_survives_a_restart(tmp_path: Path) -> None:
    with served(tmp_path) as bench:
        started = bench.start(key="start-0001", checks={"camera": "fails"})
        first = bench.post("./notes", key="note-0001", text="one")
        job = bench.job
    with served(tmp_path) as bench:
        again = bench.start(key="start-0001", checks={"camera": "fails"})
        assert (again["job"], again["repeated"]) == (started["job"], True)
        assert bench.post("./notes", key="note-0001", text="one")["recorded"] == first["recorded"]
        assert bench.post("/jobs", 409, key="start-0001", pack="wicker")["error"]["kind"] == (
            "repeated key"
        )
        assert [line["job"] for line in bench.get("/jobs")["jobs"]] == [job]
    assert len(Job.open(job, tmp_path).events()) == 3


def test_a_correction_supersedes(bench: Bench) -> None:
    read = bench.post("./readings", readings=[["J4.3", 0.12]])["recorded"]["event"]
    bench.post("./corrections", event=read, result=0.45)
    bench.post("./corrections", event=1, says="black since the beach", history=["liquid"])
    events = bench.get("./events")["events"]
    assert [(line["supersedes"], line["stands"]) for line in events] == [
        (None, False), (None, False), (2, True), (1, True),
    ]  # fmt: skip
    assert bench.get(".")["overview"]["says"] == "black since the beach"


def test_what_makes_no_sense_is_refused_and_not_written(bench: Bench) -> None:
    assert bench.post("./results", 422, step="look:moon", result="x")["error"]["kind"] == (
        "unknown step"
    )
    found = bench.post("./readings", 422, readings=[["J4.3", "many"]])["error"]
    assert (found["kind"], found["where"]) == ("data", "J4.3")
    bench.post("./readings", 422, readings=[["J4.3", True]])
    bench.post("./readings", 422)
    bench.post("./notes", 422, text="\x00")
    bench.post("./notes", 422, text="x" * 10_001)
    bench.post("./notes", 422, text="x", key="short")
    assert bench.get(".")["version"] == 1


def test_what_is_written_but_can_not_be_computed_is_an_answer(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.get("./suspects")

    def broken(*_: object) -> None:
        raise ValueError("no answer")

    with monkeypatch.context() as patch:
        patch.setattr("nextprobe.diagnosis.case.Case.after", broken)
        found = bench.post("./checks", key="check-001", function="camera", result="fails")
        assert found["recorded"]["event"] == 2
        assert "nothing can be computed" in found["findings"][0]["what"]
    again = bench.post("./checks", key="check-001", function="camera", result="fails")
    assert (again["repeated"], again["findings"]) == (True, [])


def test_a_job_from_a_complaint_alone(tmp_path: Path) -> None:
    with served(tmp_path) as bench:
        bench.start(pack=None, template="camera", device="Brindle 4", says="black")
        step = bench.get("./steps", most=1)["steps"][0]
        assert step["recommended"] and step["reasons"] and step["branches"]
        bench.get("./board", 404)
        bench.get("./suspicion", 404)
        bench.post("./pinouts", text="1,GND,gnd\n2,VDD_CAM,0.612\n", connector="J2")
        assert bench.get("./board")["connectors"][0]["modules"] == ["camera"]


def test_a_job_starts_from_a_known_pack_only(tmp_path: Path) -> None:
    with served(tmp_path) as bench:
        bench.post("/jobs", 404, pack=str(tmp_path / "packs" / "wicker"))
        bench.post("/jobs", 404, template="moon")
        bench.post("/jobs", 422)
        bench.post("/jobs", 422, pack="wicker", template="camera")
        bench.post("/jobs", 201, pack="wicker", name="mine")
        bench.post("/jobs", 409, pack="wicker", name="mine")
        bench.get("/jobs/moon", 404)
