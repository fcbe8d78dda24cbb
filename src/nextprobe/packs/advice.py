"""Say in plain words what is wrong with a pack, where, and what to write instead."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from enum import StrEnum
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from nextprobe.errors import Finding, Where
from nextprobe.packs.units import CHANCE, Unit

Loc = tuple[int | str, ...]


def suggestion(word: object, known: Iterable[object]) -> str:
    """Return a remedy that names the closest of the `known` words, or all of them."""
    words = [str(item) for item in known]
    close = get_close_matches(str(word).lower(), words, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    return f"known here: {', '.join(words)}" if words else "leave it out"


def place(path: str, source: str, lines: Mapping[str, int]) -> Where:
    """Return where `path` stands: its own line, or that of what it belongs to."""
    parts = path.split(".")
    for end in range(len(parts), 0, -1):
        line = lines.get(".".join(parts[:end]))
        if line is not None:
            return Where(source, line, name=path)
    return Where(source, name=path or None)


def findings_of(
    error: ValidationError, model: type[BaseModel], source: str, lines: Mapping[str, int]
) -> tuple[Finding, ...]:
    """Return one finding for each thing that `model` refused."""
    return tuple(_finding(detail, model, source, lines) for detail in error.errors())


def _finding(
    detail: ErrorDetails, model: type[BaseModel], source: str, lines: Mapping[str, int]
) -> Finding:
    loc = tuple(part for part in detail["loc"] if part != "[key]")
    where = place(".".join(map(str, loc)), source, lines)
    what, remedy = _words(detail, loc, model)
    return Finding(what, where, remedy)


def _words(detail: ErrorDetails, loc: Loc, model: type[BaseModel]) -> tuple[str, str]:
    kind, given, context = detail["type"], detail["input"], detail.get("ctx", {})
    name = str(loc[-1]) if loc else "the pack"
    if kind == "extra_forbidden":
        return f"'{name}' is not a field here", suggestion(name, fields_at(model, loc[:-1]))
    if kind == "missing":
        return f"'{name}' is missing", _missing(model, loc, name)
    if kind in _WORDS:
        return f"'{given}' is not known here", suggestion(given, _choices(model, loc, detail))
    if kind == "value_error":
        return str(context["error"]), "change one of the two"
    if kind in _LIMITS:
        return f"{given} is outside the limits of '{name}'", _limit(model, loc, detail)
    return f"'{name}' can not be {_shown(given)}", _shape(model, loc, detail)


_WORDS = ("unknown_word", "enum", "literal_error")
_LIMITS = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")


def _shown(given: object) -> str:
    if given is None:
        return "empty"
    if isinstance(given, Mapping):
        return "a list of names"
    if isinstance(given, list | tuple):
        return "a list"
    return f"'{str(given)[:60]}'"


def _limit(model: type[BaseModel], loc: Loc, detail: ErrorDetails) -> str:
    given = float(detail["input"])
    if unit_at(model, loc) == CHANCE and 1 < given <= 100:
        return f"a chance goes from 0 to 1: write {given / 100:g}"
    message = detail["msg"].removeprefix("Input ").replace("should", "it should")
    unit = unit_at(model, loc)
    return f"{message}, in {unit.name}" if unit else message


def _shape(model: type[BaseModel], loc: Loc, detail: ErrorDetails) -> str:
    kind, given, unit = detail["type"], detail["input"], unit_at(model, loc)
    if kind in ("float_parsing", "float_type", "finite_number") and unit is not None:
        value = unit.converted(given) if isinstance(given, str) else None
        number = "a number" if value is None else f"{value:g}"
        return f"write {number}: this is {unit.name}, without a unit"
    if kind == "string_type" and isinstance(given, int | float):
        return f'write it in quotes: "{given}"'
    if kind == "tuple_type":
        item = given if isinstance(given, str) and given else "one, another"
        return f"write a list: [{item}]"
    return _REMEDIES.get(kind, detail["msg"])


_REMEDIES = {
    "bool_parsing": "write true or false",
    "bool_type": "write true or false",
    "string_type": "write some words",
    "string_too_short": "write some words",
    "dict_type": "write 'name: value' lines below it",
    "model_type": "write 'name: value' lines below it",
    "too_short": "give at least one",
}


def _missing(model: type[BaseModel], loc: Loc, name: str) -> str:
    field = fields_at(model, loc[:-1]).get(name)
    unit = unit_at(model, loc)
    help_text = getattr(field, "description", None) or (unit.name if unit else "")
    return f"add '{name}: …'" + (f", {help_text}" if help_text else "")


def _choices(model: type[BaseModel], loc: Loc, detail: ErrorDetails) -> list[str]:
    if detail["type"] == "unknown_word":
        return list(detail["ctx"]["words"])
    annotation, _ = annotation_at(model, loc)
    if isinstance(annotation, type) and issubclass(annotation, StrEnum):
        return [item.value for item in annotation]
    if get_origin(annotation) is Literal:
        return [str(item) for item in get_args(annotation)]
    expected = str(detail.get("ctx", {}).get("expected", ""))
    return [word.strip("' ") for word in expected.replace(" or ", ",").split(",")]


def fields_at(model: type[BaseModel], loc: Loc) -> dict[str, Any]:
    """Return the fields, as a person writes them, of what stands at `loc`."""
    annotation, _ = annotation_at(model, loc)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {field.alias or name: field for name, field in annotation.model_fields.items()}
    return {}


def unit_at(model: type[BaseModel], loc: Loc) -> Unit | None:
    """Return the unit of the number at `loc`, if it has one."""
    _, metadata = annotation_at(model, loc)
    return next((item for item in metadata if isinstance(item, Unit)), None)


def annotation_at(model: type[BaseModel], loc: Loc) -> tuple[Any, tuple[Any, ...]]:
    """Return the bare type at `loc` and its metadata; ``(None, ())`` where there is none."""
    annotation, metadata = _bare(model)
    for part in loc:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            fields = annotation.model_fields
            field = fields.get(str(part)) or next(
                (item for item in fields.values() if item.alias == part), None
            )
            if field is None:
                return None, ()
            annotation, metadata = _bare(field.annotation)
            metadata = (*field.metadata, *metadata)
        elif get_origin(annotation) in (dict, tuple):
            place_of_value = 1 if get_origin(annotation) is dict else 0
            annotation, metadata = _bare(get_args(annotation)[place_of_value])
        else:
            return None, ()
    return annotation, metadata


def _bare(annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    if get_origin(annotation) is Annotated:
        inner, *own = get_args(annotation)
        bare, below = _bare(inner)
        return bare, (*own, *below)
    if get_origin(annotation) in (Union, UnionType):
        return _bare(next(item for item in get_args(annotation) if item is not type(None)))
    return annotation, ()
