"""One way to write a value as JSON, so that equal values have equal hashes."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import TypeAlias

from nextprobe.errors import MisuseError

JsonValue: TypeAlias = (
    "bool | int | float | str | Sequence[JsonValue] | Mapping[str, JsonValue] | None"
)


def canonical_json(value: JsonValue) -> str:
    """Text that is the same for the same value: sorted keys, no spaces, floats exact.

    Integers and floats stay apart (``1`` and ``1.0``), unlike in RFC 8785, so that a value
    comes back with the type that it went in with. Tuples come back as lists.

    Raises
    ------
    MisuseError
        For what JSON can not hold: NaN and infinity, keys that are not text, other types.
    """
    try:
        text = json.dumps(
            _plain(value, "payload"),
            sort_keys=True,
            separators=(",", ":"),
            ensure_ascii=False,
            allow_nan=False,
        )
        text.encode()
    except (ValueError, RecursionError) as error:
        raise MisuseError(f"payload can not be written as JSON: {error}") from error
    return text


def _plain(value: object, where: str) -> JsonValue:
    """Copy of a value in plain JSON types; ``where`` names the place in messages."""
    if isinstance(value, Mapping):
        return {_key(key, where): _plain(item, f"{where}.{key}") for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, f"{where}[{index}]") for index, item in enumerate(value)]
    if isinstance(value, float) and not math.isfinite(value):
        raise MisuseError(f"{where} is {value}: record over-range as a word, never as a number")
    if value is None or isinstance(value, bool | int | float | str):
        return value
    raise MisuseError(f"{where} is a {type(value).__name__}: use text, numbers, lists, mappings")


def _key(key: object, where: str) -> str:
    if not isinstance(key, str):
        raise MisuseError(f"{where} has the key {key!r}: keys must be text")
    return key
