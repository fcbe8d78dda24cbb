"""Shipped defaults: one template per class of function, and one for the whole shop."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from nextprobe.errors import DataError
from nextprobe.packs.schema import FunctionClass
from nextprobe.packs.yaml_text import read_yaml

SHOP = "shop"


@cache
def template_data(name: str) -> Mapping[str, Any]:
    """Return the plain data of a shipped template.

    Parameters
    ----------
    name : str
        ``shop`` or a class of function.

    Raises
    ------
    DataError
        If the shipped file is damaged.
    """
    file = resources.files("nextprobe.packs").joinpath("templates", f"{name}.yaml")
    read = read_yaml(file.read_text(encoding="utf-8"), f"{name}.yaml")
    if read.findings:
        raise DataError(read.findings)
    return read.data


def template_names() -> tuple[str, ...]:
    """Return the names of all shipped templates."""
    return (SHOP, *(kind.value for kind in FunctionClass))


def filled(data: Any, words: Mapping[str, str]) -> Any:
    """Return `data` with placeholders such as ``{function}`` filled in, names too."""
    if isinstance(data, Mapping):
        return {filled(key, words): filled(value, words) for key, value in data.items()}
    if isinstance(data, list):
        return [filled(item, words) for item in data]
    if isinstance(data, str):
        for word, text in words.items():
            data = data.replace(f"{{{word}}}", text)
    return data
