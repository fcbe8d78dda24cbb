"""The frozen benchmark stays what it is: its files, its formats, and how entries are scored."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks" / "frozen"))

from frozen_bench.entries import (
    Entry,
    devices_by,
    entry_of,
    planning_by,
    prior_only,
    read_entry,
    scored,
    uniform,
)
from frozen_bench.files import (
    DATA,
    DEVICES,
    MANIFEST,
    OPTIMA,
    PACKS,
    PROBLEMS,
    TRUTH,
    changed_files,
    read,
)
from frozen_bench.published import PAGE, SCORES, _rounded, with_tables
from frozen_bench.rules import by_chance_per_price

FROZEN = Path(__file__).parents[2] / "benchmarks" / "frozen"
_MOST_BYTES = 1_500_000


def schema(name: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads((FROZEN / "schemas" / name).read_text("utf-8")))


@pytest.fixture(scope="module")
def simple() -> list[Entry]:
    return [
        entry_of("uniform", devices=devices_by(uniform)),
        entry_of("rates only", devices=devices_by(prior_only)),
        entry_of("p/c order", planning=planning_by(lambda _: by_chance_per_price)),
    ]


def test_the_data_have_not_changed() -> None:
    manifest = read(MANIFEST)
    assert manifest["version"] == DATA.name == "v1"
    assert set(manifest["sha256"]) == {PROBLEMS, OPTIMA, PACKS, DEVICES, TRUTH}
    assert changed_files() == [], "frozen data are never edited; a change is a new version"


def test_the_manifest_has_not_changed_with_the_data() -> None:
    assert read(MANIFEST)["sha256"] == {
        "planning.json": "5dd9e4bef268dfbb97a078b3361cf1a5a418e1dbd79723c1fdee74f87b0c97d6",
        "planning_optima.json": "59375a1182f5a1ce6ef2054046ca00d4c960f388fe8da8b7d59bf8a13a8374cf",
        "packs.json": "3b90bd30ce2d6f6aac701aabf5a95127dfcb5905ef8d02d7975328102414fe97",
        "devices.json": "a736ce06bf3b4bc5c0ae9794c094fdb4dc19b0f94014795fd79fd6d000e117a8",
        "devices_truth.json": "02687a917071ba4ce783de666b70f6c2ffd7ebbf00eea51f365950722500dbe1",
    }


def test_a_changed_file_is_noticed(tmp_path: Path) -> None:
    for name in (MANIFEST, *read(MANIFEST)["sha256"]):
        (tmp_path / name).write_bytes((DATA / name).read_bytes())
    assert changed_files(tmp_path) == []
    text = (tmp_path / TRUTH).read_text("utf-8")
    (tmp_path / TRUTH).write_text(text.replace("reseat", "clean", 1), "utf-8")
    (tmp_path / OPTIMA).unlink()
    assert changed_files(tmp_path) == [OPTIMA, TRUTH]


def test_the_data_are_small() -> None:
    assert sum(path.stat().st_size for path in FROZEN.rglob("*.json")) < _MOST_BYTES


@pytest.mark.parametrize(
    ("name", "data"), [("planning.schema.json", PROBLEMS), ("devices.schema.json", DEVICES)]
)
def test_data_follow_their_schema(name: str, data: str) -> None:
    assert [each.message for each in schema(name).iter_errors(read(data))] == []


def test_entries_follow_their_schema(simple: list[Entry]) -> None:
    validator = schema("entry.schema.json")
    assert [each.message for entry in simple for each in validator.iter_errors(entry)] == []
    assert not validator.is_valid({**simple[0], "version": "v0"})


def test_simple_methods_score_as_published(simple: list[Entry]) -> None:
    published = read(SCORES, FROZEN)
    for entry in simple:
        wanted, found = published[entry["method"]], _rounded(scored(entry))
        assert list(flat(found)) == [
            (name, pytest.approx(value, rel=1e-3, abs=1e-6)) for name, value in flat(wanted)
        ]


def flat(data: Any, name: str = "") -> Any:
    if isinstance(data, dict):
        for key, each in data.items():
            yield from flat(each, f"{name}/{key}")
    elif isinstance(data, list):
        for place, each in enumerate(data):
            yield from flat(each, f"{name}/{place}")
    elif isinstance(data, float | int):
        yield name, data


def test_the_page_shows_the_published_scores() -> None:
    text = PAGE.read_text("utf-8")
    assert with_tables(text, read(SCORES, FROZEN)) == text


def test_the_truth_is_kept_apart_and_fits_the_devices() -> None:
    packs, truth = read(PACKS), read(TRUTH)
    devices = read(DEVICES)
    assert [each["id"] for each in devices] == list(truth)
    for device in devices:
        complaint = packs[device["pack"]]["complaints"][device["complaint"]]
        names = {each["id"] for each in complaint["candidates"]}
        assert set(truth[device["id"]]["repairs"]) <= names
        assert not {"world", "faults", "repairs"} & set(device)
        seen = len(device["observations"])
        assert sorted(place for place, _ in device["observations"]) == list(range(seen))
        assert device["checkpoints"]["swap"] == seen + len(device["swap"])
        assert seen == len(complaint["acts"])


def test_priors_are_shares() -> None:
    for pack in read(PACKS).values():
        for complaint in pack["complaints"].values():
            for prior in complaint["prior"].values():
                assert sum(prior.values()) == pytest.approx(1.0, abs=1e-3)
                assert set(prior) == {each["id"] for each in complaint["candidates"]}


def test_the_examples_of_the_page_are_entries(tmp_path: Path) -> None:
    text = PAGE.read_text("utf-8")
    blocks = {kind: text.split(f"```{kind}\n")[1].split("```")[0] for kind in ("json", "python")}
    assert schema("entry.schema.json").is_valid(json.loads(blocks["json"]))
    path = tmp_path / "mine.py"
    path.write_text(blocks["python"], "utf-8")
    found = scored(read_entry(path), most=1)
    assert found["planning"]["exact"]["problems"] == 52
    assert found["devices"]["all"]["devices"] == 120
