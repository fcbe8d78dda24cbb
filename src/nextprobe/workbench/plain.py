"""Results as plain JSON values: the shapes that ``--json`` prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum

from nextprobe.board import OverRange
from nextprobe.workbench.canonical import JsonValue


def plain(value: object) -> JsonValue:
    """Return a value in plain JSON types.

    Data classes become mappings with the names of their fields, over-range the text
    ``over-range``, sets sorted lists. What has no plain form becomes its text.
    """
    if isinstance(value, OverRange):
        return value.value
    if isinstance(value, Enum):
        return plain(value.value)
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(item) for key, item in value.items()}
    if isinstance(value, set | frozenset):
        return sorted((plain(item) for item in value), key=str)
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return str(value)
