"""What is said of a job over the interface is what the job says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served

from nextprobe import Job
from nextprobe.workbench.plain import plain


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        found.start()
        found.post("./checks", function="camera", result="fails")
        found.post("./readings", readings=[["J4.3", 0.12]])
        yield found


def test_steps_suspects_and_reasons_are_those_of_the_job(bench: Bench, tmp_path: Path) -> None:
    job = Job.open(bench.job, tmp_path)
    found = bench.get("./steps", most=3)
    assert found["steps"] == plain(job.next_steps(3))
    assert found["version"] == 3
    assert bench.get("./suspects", most=4)["suspects"] == plain(job.suspects(4))
    assert bench.get("./why")["explanation"] == plain(job.why())
    step = found["steps"][1]["id"]
    assert bench.get("./why", step=step)["explanation"] == plain(job.why(step))
    assert bench.get(".")["overview"] == plain(job.overview())
    assert bench.get("./differences")["differences"] == plain(job.differences())


def test_the_odds_of_a_suspect_are_taken_apart(bench: Bench, tmp_path: Path) -> None:
    job = Job.open(bench.job, tmp_path)
    key = job.suspects(1)[0].key
    assert bench.get("./reckoning", suspect=key)["reckoning"] == plain(job.why_suspect(key))
    found = bench.get("./reckoning", suspect=key, about="3")["reckoning"]
    assert found["against"] == plain(job.why_suspect(key, "3").against) != []
    bench.get("./reckoning", 422, suspect="moon")
    assert bench.get("./suspects", reasons=False)["suspects"] == plain(job.suspects(5, False))


def test_a_point_comes_with_its_distribution(bench: Bench, tmp_path: Path) -> None:
    found = bench.get("./expected", point="j4.3")["expectation"]
    assert found["expected"] == plain(Job.open(bench.job, tmp_path).expected("J4.3"))
    assert found["expected"]["read"] == [0.12]
    spread = found["spread"]
    assert len(spread["edges"]) == len(spread["chances"]) + 1 == len(spread["healthy"]) + 1
    assert sum(spread["chances"]) + spread["over_range"] == pytest.approx(1.0, abs=1e-6)
    assert sum(spread["healthy"]) + spread["healthy_over_range"] == pytest.approx(1.0, abs=1e-6)
    place = max(range(len(spread["healthy"])), key=spread["healthy"].__getitem__)
    assert spread["edges"][place] <= 0.452 <= spread["edges"][place + 1]


def test_over_range_is_a_state(bench: Bench) -> None:
    found = bench.get("./expected", point="J4.4")["expectation"]
    assert found["expected"]["healthy"] == "over-range"
    assert found["spread"]["healthy_over_range"] > 0.9


def test_a_connector_comes_pin_by_pin_in_order(bench: Bench) -> None:
    pins = bench.get("./connectors/J4")["pins"]
    assert [pin["pin"] for pin in pins] == ["1", "2", "3", "4"]
    assert pins[2]["expectation"]["expected"]["verdict"] == "low"
    bench.get("./connectors/J5", 404)
    bench.get("./expected", 422, point="J9.1")
    bench.get("./expected", 422, point="J4.3", mode="sonar")


def test_suspicion_lies_where_the_suspects_are(bench: Bench) -> None:
    board, found = bench.get("./board"), bench.get("./suspicion")
    assert (found["key"], len(found["suspicion"])) == (board["key"], len(board["pads"]["pin"]))
    by_pin = dict(zip(board["pads"]["pin"], found["suspicion"], strict=True))
    assert by_pin["J4.3"] > by_pin["J4.2"] + 0.01
    assert all(0.0 <= value <= 1.0 for value in found["suspicion"])
    nets = [board["nets"][net]["name"] for net in board["pads"]["net"]]
    assert dict(zip(board["pads"]["pin"], nets, strict=True))["J4.3"] == "CAM_SDA"


def test_a_quote_orders_its_numbers(bench: Bench) -> None:
    found = bench.get("./quote")["quote"]
    assert found["least"] <= found["to_come"]
    assert found["low"] <= found["middle"] <= found["high"]
    assert {way["step"] for way in found["ways_out"]} >= {"decline"}
    assert found["spent"] > 0.0
    bench.post("./corrections", event=1, ceiling=found["spent"] + found["low"] / 2.0)
    assert bench.get("./quote")["quote"]["within_ceiling"] < 1.0


def test_a_check_stands_until_something_is_done(bench: Bench) -> None:
    [check] = bench.get("./verification")["verification"]["checks"]
    assert (check["last"], check["stands"], check["complaint"]) == ("fails", True, True)
    bench.post("./work", work="clean", place="J4")
    [check] = bench.get("./verification")["verification"]["checks"]
    assert (check["last"], check["stands"]) == ("fails", False)
    bench.post("./checks", function="camera", result="works")
    found = bench.get("./verification")["verification"]
    assert found["checks"][0]["stands"]
    assert found["repeat"] == "verify"


def test_an_ended_job_has_no_steps(bench: Bench) -> None:
    bench.post("./closing", ending="decline")
    found = bench.get("./steps")
    assert (found["steps"], found["ended"]) == ([], "decline")
    bench.get("./quote", 422)
