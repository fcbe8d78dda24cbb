"""Packs over the interface."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served

from nextprobe.readers.pack_folder import demo_pack_folder, read_pack_folder
from nextprobe.web.board_layout import Layout
from nextprobe.web.board_shown import board_json


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        yield found


def test_a_pack_says_what_intake_asks(bench: Bench) -> None:
    [line] = bench.get("/packs")["packs"]
    assert (line["name"], line["device"], line["usable"]) == ("wicker", "Wicker 1", True)
    pack = bench.get("/packs/wicker")["pack"]
    assert pack["functions"]["camera"]["class"] == "camera"
    assert pack["functions"]["camera"]["check"]["how"]
    assert "drop" in pack["history"]
    bench.get("/packs/moon", 404)
    assert bench.get("/templates/touch")["pack"]["functions"]["touch"]["class"] == "touch"
    bench.get("/templates/moon", 404)


def test_a_pack_that_changes_on_disk_is_read_again(bench: Bench, tmp_path: Path) -> None:
    assert bench.get("/packs/wicker")["known_good"]
    (tmp_path / "packs" / "wicker" / "pins.csv").unlink()
    assert bench.get("/packs/wicker")["known_good"] == []
    bench.get("/packs/wicker/board", 404)


def test_a_broken_pack_is_listed_and_says_what_is_wrong(bench: Bench, tmp_path: Path) -> None:
    (tmp_path / "packs" / "wicker" / "device.yaml").write_text("device: 7\n")
    assert [line["usable"] for line in bench.get("/packs")["packs"]] == [False]
    error = bench.get("/packs/wicker", 422)["error"]
    assert error["kind"] == "data" and "device.yaml" in error["where"]


def test_testability_names_what_no_test_tells_apart(bench: Bench) -> None:
    found = bench.get("/packs/wicker/testability", complaint="camera")
    assert found["faults"] > 0 and 0.0 <= found["detected"] <= 1.0
    for group in found["ambiguity_groups"]:
        assert len(group["faults"]) == len(group["titles"]) > 1
    assert bench.get("/packs/wicker/testability", complaint="camera") == found
    bench.get("/packs/wicker/testability", 422, complaint="moon")


def test_packs_beside_the_jobs_come_with_the_demo_packs(tmp_path: Path) -> None:
    with served(tmp_path, packs=None) as bench:
        names = [line["name"] for line in bench.get("/packs")["packs"]]
        assert {"courier-handheld", "ferry-terminal", "wicker"} <= set(names)


def test_pads_have_places_and_one_order() -> None:
    contents, _ = read_pack_folder(demo_pack_folder("courier-handheld"))
    assert contents is not None and contents.board is not None
    found = board_json(contents.board, contents.pack)
    pads = found["pads"]
    assert {len(column) for column in pads.values()} == {len(Layout(contents.board).pads)}
    parts = [found["parts"][index]["reference"] for index in pads["part"]]
    assert all(pin.startswith(f"{part}.") for pin, part in zip(pads["pin"], parts, strict=True))
    assert found["key"] == Layout(contents.board).key
