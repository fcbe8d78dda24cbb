"""Models of answers, made from the data classes of the use cases.

So the description of the interface can not say anything else than what is sent: a field that is
added to a data class is in the interface with its description.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel, Field, create_model

from nextprobe.board import OverRange
from nextprobe.web.trouble import FindingShown

Shape = type[BaseModel]

_ENTRY = re.compile(r"^(?P<names>\w+(?:, \w+)*) : .*$")


@cache
def shape_of(kind: type) -> Any:
    """Return the model of a data class, described as its docstring describes it."""
    hints = get_type_hints(kind, localns={"JsonValue": Any})
    said = _descriptions(kind.__doc__ or "")
    made: dict[str, Any] = {}
    for item in fields(kind):
        about = Field(description=said.get(item.name))
        made[item.name] = (_as_json(hints[item.name]), about)
    summary = (kind.__doc__ or "").strip().partition("\n")[0]
    return create_model(kind.__name__, __doc__=summary, **made)


def shape(title: str, summary: str, /, **entries: Any) -> Any:
    """Return a model with fields given as a type, or as a type and its description."""
    made = {
        field: entry if isinstance(entry, tuple) and isinstance(entry[1], str) else (entry, "")
        for field, entry in entries.items()
    }
    described: dict[str, Any] = {
        field: (_as_json(kind), Field(description=text or None))
        for field, (kind, text) in made.items()
    }
    return create_model(title, __doc__=summary, **described)


def many(kind: Any) -> Any:
    """Return the type of a list."""
    return list[kind]


def maybe(kind: Any) -> Any:
    """Return the type of something that may be missing."""
    return _as_json(kind) | None


def _as_json(kind: Any) -> Any:
    """Return the type that a value has in JSON."""
    origin, inner = get_origin(kind), get_args(kind)
    if kind is OverRange:
        return Literal["over-range"]
    if isinstance(kind, type) and is_dataclass(kind):
        return FindingShown if kind.__name__ == "Finding" else shape_of(kind)
    if isinstance(kind, type) and issubclass(kind, Enum | BaseModel):
        return kind
    if origin in (Union, UnionType):
        return Union[tuple(_as_json(each) for each in inner)]  # noqa: UP007
    if origin is tuple and inner[-1:] != (Ellipsis,):
        return tuple[tuple(_as_json(each) for each in inner)]  # type: ignore[misc]
    if origin in (tuple, list, set, frozenset) or _is_sequence(origin):
        return list[_as_json(inner[0])]  # type: ignore[misc]
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return dict[str, _as_json(inner[1])]  # type: ignore[misc]
    return NoneType if kind is None else kind


def _is_sequence(origin: Any) -> bool:
    return getattr(origin, "__name__", "") == "Sequence"


def _descriptions(docstring: str) -> dict[str, str]:
    """Return what a NumPy docstring says of each parameter."""
    _, _, section = docstring.partition("Parameters\n")
    found: dict[str, str] = {}
    names: list[str] = []
    for raw in section.splitlines()[1:]:
        line = raw.strip()
        entry = _ENTRY.match(line)
        if not line and found:
            break
        if entry:
            names = entry["names"].split(", ")
            found |= dict.fromkeys(names, "")
        else:
            found |= {name: f"{found.get(name, '')} {line}".strip() for name in names}
    return {name: text for name, text in found.items() if text}
