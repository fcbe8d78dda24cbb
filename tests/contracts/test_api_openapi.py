"""The description of the interface is whole, and the program is reached by nothing else."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from nextprobe.web import Settings, create_app
from nextprobe.web.app import ROUTES
from nextprobe.web.asking import errors

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    found: dict[str, Any] = create_app(
        Settings(home=tmp_path_factory.mktemp("jobs"), packs={})
    ).openapi()
    return found


def operations(described: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        f"{method.upper()} {path}": operation
        for path, item in described["paths"].items()
        for method, operation in item.items()
    }


def test_every_operation_says_what_it_does_and_how_it_fails(described: dict[str, Any]) -> None:
    error = {"$ref": "#/components/schemas/ErrorAnswer"}
    for name, operation in operations(described).items():
        assert operation["summary"] and operation["description"], name
        answers = operation["responses"]
        assert {"401", "403", "422", "423", "503"} <= set(answers), name
        if "requestBody" in operation:
            assert {"400", "413", "415"} <= set(answers), name
        if "{" in name:
            assert "404" in answers, name
        for status, answer in answers.items():
            if int(status) >= 400:
                assert answer["content"]["application/json"]["schema"] == error, (name, status)


def test_every_answer_has_a_model(described: dict[str, Any]) -> None:
    for name, operation in operations(described).items():
        for status, answer in operation["responses"].items():
            if status in ("200", "201"):
                for kind, content in answer["content"].items():
                    assert content["schema"], (name, status, kind)


def test_what_changes_something_takes_a_key(described: dict[str, Any]) -> None:
    schemas = described["components"]["schemas"]
    for name, operation in operations(described).items():
        method, path = name.split(" ")
        if method == "GET" or path.endswith("/session"):
            assert method in ("GET", "POST", "DELETE")
            continue
        names = {item["name"] for item in operation.get("parameters", ())}
        body = operation["requestBody"]["content"].get("application/json")
        if body is not None:
            model = schemas[body["schema"]["$ref"].rpartition("/")[2]]
            names |= set(model["required"])
            assert model["additionalProperties"] is False, name
        assert "key" in names, name


def test_every_text_and_list_that_is_taken_has_an_end(described: dict[str, Any]) -> None:
    schemas = described["components"]["schemas"]
    for operation in operations(described).values():
        body = operation.get("requestBody", {}).get("content", {}).get("application/json")
        if body is not None:
            _bounded(schemas[body["schema"]["$ref"].rpartition("/")[2]], "body")
        for item in operation.get("parameters", ()):
            _bounded(item["schema"], item["name"])


def _bounded(schema: dict[str, Any], where: str) -> None:
    for option in (*schema.get("anyOf", ()), *schema.get("prefixItems", ())):
        _bounded(option, where)
    for name, item in schema.get("properties", {}).items():
        _bounded(item, f"{where}.{name}")
    if schema.get("type") == "string" and not {"enum", "const"} & set(schema):
        assert "maxLength" in schema or "pattern" in schema, where
    if schema.get("type") == "array":
        assert "maxItems" in schema, where
        _bounded(schema.get("items", {}), where)


def test_units_are_said(described: dict[str, Any]) -> None:
    schemas = described["components"]["schemas"]
    assert "[s since the epoch]" in schemas["LogLine"]["properties"]["time"]["description"]
    assert "[V, ohm or F]" in schemas["ExpectedReading"]["properties"]["healthy"]["description"]
    assert "[currency" in schemas["StepRecord"]["properties"]["price"]["description"]


def test_the_page_of_the_interface_names_every_route(described: dict[str, Any]) -> None:
    page = (ROOT / "docs" / "api.md").read_text("utf-8")
    for path in described["paths"]:
        assert f"`{path.removeprefix('/api/v1')}`" in page, path
    assert "/jobs/{job}/live" in page


def test_every_module_of_routes_is_served() -> None:
    folder = ROOT / "src" / "nextprobe" / "web" / "routes"
    modules = {file.stem for file in folder.glob("*.py")} - {"__init__"}
    assert modules == set(ROUTES)


def test_the_description_is_plain_json(described: dict[str, Any]) -> None:
    assert json.loads(json.dumps(described, allow_nan=False)) == described
    assert set(errors(404)) == {401, 403, 404, 409, 422, 423, 503}
