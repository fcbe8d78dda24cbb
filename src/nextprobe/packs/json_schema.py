"""The JSON Schema of what a person writes, so that editors complete and check a pack."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from nextprobe.packs.schema import Pack

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_ALWAYS_WRITTEN = {
    "ChipData": ["clamps"],
    "Device": ["name"],
    "Function": ["class"],
    "Pairing": ["part", "grade"],
    "ReadyJob": ["title", "says", "complaint", "faults"],
}
_MADE_BY_RESOLVING = ("provenance",)
_INTRODUCTION = (
    "What a person writes into device.yaml. Everything else comes from the shop's defaults and "
    "the templates of the functions' classes."
)


def pack_json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a ``device.yaml``.

    Fields that templates fill in may be left out, and an entry of a table may be empty.
    """
    schema = Pack.model_json_schema(by_alias=True)
    schema["$schema"] = DIALECT
    schema["title"] = "Device pack"
    schema["description"] = _INTRODUCTION
    schema["required"] = ["device", "functions"]
    for name in _MADE_BY_RESOLVING:
        del schema["properties"][name]
    for name, definition in schema["$defs"].items():
        _ask_only_for(definition, _ALWAYS_WRITTEN.get(name, []))
    for part in _objects(schema):
        part.pop("default", None)
        _allow_empty_entries(part)
    return schema


def pack_json_schema_text() -> str:
    """Return the schema as the text of ``docs/pack.schema.json``."""
    return json.dumps(pack_json_schema(), indent=2, ensure_ascii=False) + "\n"


def _ask_only_for(definition: dict[str, Any], names: list[str]) -> None:
    definition.pop("required", None)
    if names:
        definition["required"] = names


def _allow_empty_entries(part: dict[str, Any]) -> None:
    entry = part.get("additionalProperties")
    if isinstance(entry, dict) and "$ref" in entry:
        part["additionalProperties"] = {"anyOf": [entry, {"type": "null"}]}


def _objects(schema: object) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        yield schema
        for value in list(schema.values()):
            yield from _objects(value)
    elif isinstance(schema, list):
        for item in schema:
            yield from _objects(item)
