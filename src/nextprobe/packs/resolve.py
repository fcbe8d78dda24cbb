"""From the little that somebody wrote to a whole pack, every value knowing its origin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from nextprobe.errors import DataError, Finding, Severity
from nextprobe.packs.advice import findings_of, place, suggestion
from nextprobe.packs.crosscheck import missing_names
from nextprobe.packs.instances import function_layers, module_layer, shop_layers
from nextprobe.packs.provenance import Layer, merge_layers
from nextprobe.packs.schema import FunctionClass, Pack

Resolved = tuple[Pack | None, tuple[Finding, ...]]


def resolve(
    raw: Mapping[str, Any], source: str, lines: Mapping[str, int] | None = None
) -> Resolved:
    """Merge the shop's defaults, the templates of the functions' classes, and `raw`.

    Parameters
    ----------
    raw : mapping
        Plain data as read from a ``device.yaml``; most of it may be missing.
    source : str
        File name, for provenance and findings.
    lines : mapping of str to int, optional
        Line of each dotted path.

    Returns
    -------
    tuple
        The pack, None if there is an error among the findings; and the findings.
    """
    lines = lines or {}
    kinds, findings = _kinds(raw, source, lines)
    if findings:
        return None, findings
    merged, origins = merge_layers(_layers(raw, kinds, source, lines))
    _drop_unused_modules(merged, origins, raw)
    _derive_connectors(merged, origins)
    findings = tuple(missing_names(merged, source, lines))
    try:
        pack = Pack.model_validate(merged | {"provenance": origins})
    except ValidationError as error:
        wrong = findings_of(error, Pack, source, lines)
        return None, findings + tuple(f for f in wrong if f.where.name or not findings)
    failed = any(finding.severity is Severity.ERROR for finding in findings)
    return (None if failed else pack), findings


def pack_from_template(kind: FunctionClass | str, device_name: str) -> Pack:
    """Return the pack that knows no more than a complaint of one class.

    Parameters
    ----------
    kind : FunctionClass or str
        Class of the function, which also becomes its name.
    device_name : str
        What the device is called.

    Raises
    ------
    DataError
        If there is no such class, or the name is empty.
    """
    raw = {"device": {"name": device_name}, "functions": {str(kind): {"class": str(kind)}}}
    pack, findings = resolve(raw, "complaint")
    if pack is None:
        raise DataError(findings)
    return pack


def _kinds(
    raw: Mapping[str, Any], source: str, lines: Mapping[str, int]
) -> tuple[dict[str, FunctionClass], tuple[Finding, ...]]:
    functions = raw.get("functions")
    if not isinstance(functions, Mapping) or not functions:
        where = place("functions", source, lines)
        remedy = "name at least one, as in 'functions: {camera: {class: camera}}'"
        return {}, (Finding("the pack names no function", where, remedy),)
    kinds: dict[str, FunctionClass] = {}
    findings = []
    for name, function in functions.items():
        given = _class_of(function)
        try:
            kinds[name] = FunctionClass(given)
        except ValueError:
            words = [kind.value for kind in FunctionClass]
            where = place(f"functions.{name}.class", source, lines)
            what = f"'{given}' is not a class" if given else f"'{name}' has no class"
            findings.append(Finding(what, where, suggestion(given or name, words)))
    return kinds, tuple(findings)


def _class_of(function: object) -> str:
    if not isinstance(function, Mapping):
        return ""
    return str(function.get("class") or function.get("kind") or "")


def _layers(
    raw: Mapping[str, Any],
    kinds: Mapping[str, FunctionClass],
    source: str,
    lines: Mapping[str, int],
) -> Iterator[Layer]:
    device = raw.get("device")
    yield from shop_layers(isinstance(device, Mapping) and device.get("sealed") is True)
    modules = raw.get("modules")
    yield from (module_layer(name) for name in (modules if isinstance(modules, Mapping) else ()))
    for name, kind in kinds.items():
        yield from function_layers(name, kind, raw)
    yield Layer(raw, source, lines)


def _drop_unused_modules(
    merged: dict[str, Any], origins: dict[str, str], raw: Mapping[str, Any]
) -> None:
    modules, named = merged.get("modules"), raw.get("modules")
    if not isinstance(modules, dict):
        return
    used = set(named) if isinstance(named, Mapping) else set()
    for function in merged["functions"].values():
        used.update(_needed(function, "modules"))
    for name in [name for name in modules if name not in used]:
        del modules[name]
        for path in [path for path in origins if path.startswith(f"modules.{name}.")]:
            del origins[path]


def _derive_connectors(merged: dict[str, Any], origins: dict[str, str]) -> None:
    for name, function in merged["functions"].items():
        modules = _needed(function, "modules")
        if _needed(function, "connectors") or not modules:
            continue
        found = {_connector(merged, module): f"modules.{module}.connector" for module in modules}
        found.pop(None, None)
        if found:
            function["needs"]["connectors"] = [str(connector) for connector in found]
            origins[f"functions.{name}.needs.connectors"] = f"from {', '.join(found.values())}"


def _needed(function: object, field: str) -> list[str]:
    needs = function.get("needs") if isinstance(function, Mapping) else None
    words = needs.get(field) if isinstance(needs, Mapping) else None
    return [word for word in words if isinstance(word, str)] if isinstance(words, list) else []


def _connector(merged: Mapping[str, Any], module: str) -> str | None:
    modules = merged.get("modules")
    entry = modules.get(module) if isinstance(modules, Mapping) else None
    connector = entry.get("connector") if isinstance(entry, Mapping) else None
    return connector if isinstance(connector, str) else None
