"""Layers of plain data, one over the other, each value knowing where it came from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Layer:
    """Plain data and its origin.

    Parameters
    ----------
    data : mapping
        Nested mappings; a list is one value.
    origin : str
        Words for where it came from, as in ``template camera``.
    lines : mapping of str to int
        Lines of dotted paths, for data that somebody typed.
    """

    data: Mapping[str, Any]
    origin: str
    lines: Mapping[str, int] = field(default_factory=dict)

    def origin_of(self, path: str) -> str:
        """Return the origin of `path`, with its line where that is known."""
        line = self.lines.get(path)
        return self.origin if line is None else f"{self.origin}, line {line}"


def merge_layers(layers: Iterable[Layer]) -> tuple[dict[str, Any], dict[str, str]]:
    """Lay `layers` over each other; later ones win.

    Mappings are merged name by name, anything else is replaced whole. An empty entry
    (``imaging:`` and nothing more) adds a name but takes nothing away from a mapping.

    Returns
    -------
    tuple of dict
        The merged data, and the origin of each value by its dotted path.
    """
    merged: dict[str, Any] = {}
    origins: dict[str, str] = {}
    for layer in layers:
        _overlay(merged, layer.data, "", layer, origins)
    return merged, origins


def _overlay(
    target: dict[str, Any],
    data: Mapping[str, Any],
    prefix: str,
    layer: Layer,
    origins: dict[str, str],
) -> None:
    for key, value in data.items():
        path = f"{prefix}{key}"
        if isinstance(value, Mapping):
            if not isinstance(target.get(key), dict):
                target[key] = {}
                origins.pop(path, None)
            _overlay(target[key], value, f"{path}.", layer, origins)
        elif not (value is None and isinstance(target.get(key), dict)):
            if isinstance(target.get(key), dict):
                _forget_below(path, origins)
            target[key] = value
            origins[path] = layer.origin_of(path)


def _forget_below(path: str, origins: dict[str, str]) -> None:
    for stale in [name for name in origins if name.startswith(f"{path}.")]:
        del origins[stale]
