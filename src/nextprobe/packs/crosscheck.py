"""Names in a pack that have to exist elsewhere in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from nextprobe.board import FaultKind, fault_from_key
from nextprobe.errors import Finding
from nextprobe.packs.advice import place, suggestion

_PLACED_ON_MODULES = (FaultKind.MODULE_BAD, FaultKind.RECOGNITION_STALE)


def missing_names(
    data: Mapping[str, Any], source: str, lines: Mapping[str, int]
) -> Iterator[Finding]:
    """Yield a finding for each name in merged `data` that leads nowhere."""
    for path, word, known in _references(data):
        if isinstance(word, str) and word not in known:
            what = f"there is no '{word}' in {_table(path)}"
            yield Finding(what, place(path, source, lines), suggestion(word, known))
    for name, job in _items(data, "jobs"):
        for i, key in enumerate(_listed(job, "faults")):
            yield from _fault(key, f"jobs.{name}.faults.{i}", data, source, lines)


def _table(path: str) -> str:
    if ".needs.modules." in path:
        return "modules"
    return "history" if ".history." in path else "functions"


def _references(data: Mapping[str, Any]) -> Iterator[tuple[str, object, Collection[str]]]:
    modules, functions = _table_of(data, "modules"), _table_of(data, "functions")
    for name, function in _items(data, "functions"):
        for i, word in enumerate(_listed(function.get("needs"), "modules")):
            yield f"functions.{name}.needs.modules.{i}", word, modules
    for name, job in _items(data, "jobs"):
        yield f"jobs.{name}.complaint", job.get("complaint"), functions
        for i, word in enumerate(_listed(job, "history")):
            yield f"jobs.{name}.history.{i}", word, _table_of(data, "history")
    for name, look in _items(data, "looks"):
        yield f"looks.{name}.function", look.get("function"), functions


def _fault(
    key: object, path: str, data: Mapping[str, Any], source: str, lines: Mapping[str, int]
) -> Iterator[Finding]:
    where = place(path, source, lines)
    try:
        fault = fault_from_key(str(key))
    except ValueError:
        kind = str(key).partition(":")[0]
        known = [item.value.replace(" ", "-") for item in FaultKind]
        yield Finding(f"'{key}' is not a fault", where, suggestion(kind, known))
        return
    modules = _table_of(data, "modules")
    if fault.kind in _PLACED_ON_MODULES and fault.place not in modules:
        what = f"there is no '{fault.place}' in modules"
        yield Finding(what, where, suggestion(fault.place, modules))


def _items(data: Mapping[str, Any], table: str) -> list[tuple[str, Mapping[str, Any]]]:
    entries = _table_of(data, table).items()
    return [(name, entry) for name, entry in entries if isinstance(entry, Mapping)]


def _table_of(data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = data.get(name)
    return table if isinstance(table, Mapping) else {}


def _listed(entry: object, field: str) -> list[object]:
    value = entry.get(field) if isinstance(entry, Mapping) else None
    return list(value) if isinstance(value, list | tuple) else []
