"""Stable ids of steps: words without blanks, the same in every state of a job."""

from __future__ import annotations

from collections.abc import Iterable

from nextprobe.errors import UnknownStepError


def slug(name: str) -> str:
    """Return a name as it stands in an id."""
    return name.replace(" ", "-")


def named(names: Iterable[str], word: str) -> str:
    """Return the name whose slug is `word`; raises UnknownStepError if there is none."""
    for name in names:
        if slug(name) == word:
            return name
    raise UnknownStepError(f"there is nothing called '{word}' here")
