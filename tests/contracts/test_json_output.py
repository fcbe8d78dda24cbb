"""The shapes that ``--json`` prints: a field may be added, never renamed or removed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from nextprobe.cli.main import main

Run = Callable[..., dict[str, Any]]

FINDING = {"severity", "what", "where", "remedy"}
STEP = {
    "id", "title", "kind", "recommended", "cost", "price", "attended_minutes", "elapsed_minutes",
    "how", "cautions", "acts", "answers", "branches", "reasons",
}  # fmt: skip
BRANCH = {"label", "probability", "then", "cost", "title"}
REASON = {"kind", "text", "numbers", "step"}
REMARK = {"kind", "text", "numbers"}
SUSPECT = {
    "key", "title", "cause", "probability", "remaining", "prior", "words", "moved",
}  # fmt: skip
MOVED = {
    "evidence", "nats", "factor", "words", "kind", "event", "decibans", "error", "note",
}  # fmt: skip
RECKONING = {
    "key", "title", "probability", "words", "at_first", "story", "came_in", "moved", "now",
    "shares", "orders", "said", "about", "against",
}  # fmt: skip
STANDING = {"nats", "decibans", "probability"}
AGAINST = {"key", "title", "nats", "decibans", "factor", "words"}
EXPLANATION = {
    "step", "title", "recommended", "offered", "price", "attended_minutes", "elapsed_minutes",
    "parts", "harms", "against", "meanings", "never_told_apart", "remarks", "cautions",
}  # fmt: skip
MEANING = {"label", "probability", "likeliest"}
SHIFT = {"key", "title", "before", "after", "factor", "words"}
EXPECTED = {
    "point", "net", "role", "mode", "healthy", "deviation", "low", "high", "source", "read",
    "verdict", "suspects",
}  # fmt: skip
DIFFERENCE = {
    "point", "mode", "patient", "good", "score", "kind", "source", "role", "suggests",
    "amount",
}  # fmt: skip
OVERVIEW = {
    "device", "complaint", "complaint_title", "says", "history", "may_wipe", "may_unpair",
    "ceiling", "currency", "spent",
    "pack", "pack_hash", "knowledge", "parts", "nets", "references", "fitted", "opened",
    "working", "ending", "events",
}  # fmt: skip
LINE = {"event", "time", "kind", "step", "said", "supersedes", "stands"}
RECORDED = {"event", "kind", "step", "said"}


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("NEXTPROBE_HOME", str(tmp_path))

    def command(*words: str) -> dict[str, Any]:
        main([*words, "--json"])
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        return found

    return command


@pytest.fixture
def job(run: Run, tmp_path: Path) -> str:
    started = run("start", "--template", "camera", "--device", "Brindle 4")
    pins = tmp_path / "pins.txt"
    pins.write_text("1 gnd\n2 VDD_CAM .612\n3 CAM_SDA .452\n4 CAM_SCL OL\n")
    run("pinout", str(pins), "--connector", "J4")
    return str(started["job"])


def keys(items: list[dict[str, Any]], expected: set[str]) -> None:
    assert items
    for item in items:
        assert set(item) == expected


def test_next(run: Run, job: str) -> None:
    found = run("next", "-n", "20")
    assert set(found) == {
        "job", "ended", "currency", "near_tie", "lower_bound", "steps", "remarks", "findings",
    }  # fmt: skip
    keys(found["steps"], STEP)
    assert [step["recommended"] for step in found["steps"]].count(True) == 1
    first = found["steps"][0]
    keys(first["reasons"], REASON)
    keys(first["branches"], BRANCH)
    acts = {act["do"] for step in found["steps"] for act in step["acts"]}
    assert {"check", "look", "probe", "fit"} <= acts


def test_every_offered_step_can_be_recorded_by_its_first_answer(run: Run, job: str) -> None:
    steps = run("next", "-n", "50")["steps"]
    for step in steps:
        if step["kind"] in ("end", "run", "reading"):
            continue
        assert step["answers"]
        recorded = run("record", step["id"], step["answers"][0])
        assert recorded["recorded"]["step"] == step["id"]
        run("withdraw", str(recorded["recorded"]["event"]))


def test_recorded(run: Run, job: str) -> None:
    found = run("record", "check:camera", "fails")
    assert set(found) == {"job", "recorded", "remarks", "findings"}
    assert set(found["recorded"]) == RECORDED
    kept = run("read", "J9.1", "0.4")
    keys(kept["findings"], FINDING)
    assert set(kept["findings"][0]["where"]) == {"source", "line", "column", "name"}


def test_suspects(run: Run, job: str) -> None:
    run("record", "check:camera", "fails")
    run("read", "J4.3", "0.001")
    found = run("suspects")
    assert set(found) == {"job", "suspects", "remarks", "findings"}
    keys(found["suspects"], SUSPECT)
    keys(found["suspects"][0]["moved"], MOVED)


def test_why_a_suspect(run: Run, job: str) -> None:
    run("correct", "1", "--history", "drop")
    run("record", "check:camera", "fails")
    run("read", "J4.3", "0.001")
    found = run("suspects", "--why", "J4", "--about", "J4.3")
    assert set(found) == {"job", "reckoning", "findings"}
    reckoning = found["reckoning"]
    assert set(reckoning) == RECKONING
    keys([reckoning[moment] for moment in ("at_first", "came_in", "now")], STANDING)
    keys([*reckoning["story"], *reckoning["moved"]], MOVED)
    keys(reckoning["against"], AGAINST)
    parts = sum(part["nats"] for part in (*reckoning["story"], *reckoning["moved"]))
    assert reckoning["at_first"]["nats"] + parts == pytest.approx(reckoning["now"]["nats"])


def test_why(run: Run, job: str) -> None:
    found = run("why", "look:camera-self-test")
    assert set(found) == {"job", "explanation", "findings"}
    explanation = found["explanation"]
    assert set(explanation) == EXPLANATION
    keys(explanation["against"], REASON)
    keys(explanation["meanings"], MEANING)
    keys(explanation["meanings"][0]["likeliest"], SHIFT)


def test_expect_and_compare(run: Run, job: str) -> None:
    run("read", "J4.3", "0.001")
    found = run("expect", "J4.3")
    assert set(found) == {"job", "expected", "findings"}
    assert set(found["expected"]) == EXPECTED
    keys(found["expected"]["suspects"], {"key", "title", "probability", "values"})
    assert run("expect", "J4.4")["expected"]["healthy"] == "over-range"
    compared = run("compare")
    assert set(compared) == {"job", "differences", "findings"}
    keys(compared["differences"], DIFFERENCE)


def test_show_and_jobs(run: Run, job: str) -> None:
    run("withdraw", "2")
    found = run("show", "--log")
    assert set(found) == {"job", "overview", "events", "findings"}
    assert set(found["overview"]) == OVERVIEW
    keys(found["events"], LINE)
    assert [line["stands"] for line in found["events"]] == [True, False, False]
    keys(run("jobs")["jobs"], {"job", "title", "events", "current"})


def test_start_and_packs(run: Run) -> None:
    found = run("start", "courier-handheld", "--complaint", "imaging")
    assert set(found) == {"job", "overview", "findings"}
    assert set(found["overview"]) == OVERVIEW
    packs = run("packs")
    assert set(packs) == {"packs", "templates", "findings"}
    keys(packs["packs"], {"name", "device", "functions", "jobs"})


def test_pack_check(run: Run, tmp_path: Path) -> None:
    (tmp_path / "device.yaml").write_text("device: {name: X}\nfunctions: {cam: {class: camera}}\n")
    found = run("pack", "check", str(tmp_path))
    assert set(found) == {"pack", "findings"}
    assert set(found["pack"]) == {
        "device", "hash", "functions", "modules", "parts", "nets", "known_good",
    }  # fmt: skip


def test_remarks(run: Run, job: str) -> None:
    for point, value in (("J4.2", "OL"), ("J4.3", "1.9"), ("J4.4", "0.2")):
        run("read", point, value)
    keys(run("next")["remarks"], REMARK)
