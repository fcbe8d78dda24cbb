"""The published JSON Schema of packs: current, valid, and in agreement with the resolver.

The schema is checked against the meta-schema of JSON Schema draft 2020-12 by the jsonschema
reference implementation for Python.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from nextprobe.packs import resolve
from nextprobe.packs.json_schema import pack_json_schema, pack_json_schema_text
from nextprobe.packs.yaml_text import read_yaml
from nextprobe.readers.pack_folder import demo_pack_folder, list_demo_packs

PUBLISHED = Path(__file__).parents[2] / "docs" / "pack.schema.json"
MANUAL = Path(__file__).parents[2] / "docs" / "packs.md"
SMALLEST: dict[str, Any] = {
    "device": {"name": "X"},
    "functions": {"camera": {"class": "camera"}},
}


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    return Draft202012Validator(pack_json_schema())


def test_the_published_file_is_current() -> None:
    assert PUBLISHED.read_text(encoding="utf-8") == pack_json_schema_text()


def test_it_is_a_schema() -> None:
    Draft202012Validator.check_schema(json.loads(PUBLISHED.read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", list_demo_packs())
def test_the_demo_packs_fit(validator: Draft202012Validator, name: str) -> None:
    text = (demo_pack_folder(name) / "device.yaml").read_text(encoding="utf-8")
    assert [error.message for error in validator.iter_errors(read_yaml(text, name).data)] == []


def test_the_smallest_pack_and_an_empty_module_fit(validator: Draft202012Validator) -> None:
    assert validator.is_valid(SMALLEST)
    assert validator.is_valid(SMALLEST | {"modules": {"camera": None}})


WRONG: list[dict[str, Any]] = [
    {"device": {"name": "X"}},
    {"functions": {"camera": {"class": "camera"}}},
    {"device": {"name": "X"}, "functions": {}},
    {"device": {"name": "X"}, "functions": {"camera": {}}},
    {"device": {"name": "X"}, "functions": {"camera": {"class": "camra"}}},
    SMALLEST | {"modles": {}},
    SMALLEST | {"provenance": {"a": "b"}, "modules": 5},
    SMALLEST | {"modules": {"camera": {"price": -1}}},
    SMALLEST | {"modules": {"camera": {"price": "5 EUR"}}},
    SMALLEST | {"work": {"open": {"minutes": "5 min"}}},
    SMALLEST | {"rates": {"by_kind": {"capacitro": {"open": 1}}}},
    SMALLEST | {"looks": {"camera self-test": {"outcomes": {"no answer": {"drit": 1}}}}},
    SMALLEST | {"jobs": {"a": {"title": "t", "says": "s", "complaint": "camera"}}},
]


@pytest.mark.parametrize("data", WRONG)
def test_schema_and_resolver_refuse_the_same(
    validator: Draft202012Validator, data: dict[str, Any]
) -> None:
    assert not validator.is_valid(data)
    pack, findings = resolve(data, "device.yaml")
    assert pack is None
    assert findings


def test_numbers_carry_their_unit() -> None:
    price = pack_json_schema()["$defs"]["Module"]["properties"]["price"]
    assert price["x-unit"] == "money in the currency of the pack"


def test_the_examples_of_the_manual_resolve(validator: Draft202012Validator) -> None:
    parts = MANUAL.read_text(encoding="utf-8").split("```yaml\n")[1:]
    examples = [part.split("```")[0] for part in parts]
    assert examples
    for text in examples:
        read = read_yaml(text, "docs/packs.md")
        assert read.findings == ()
        assert validator.is_valid(read.data)
        pack, findings = resolve(read.data, "docs/packs.md", read.lines)
        assert pack is not None, [str(finding) for finding in findings]
