"""Which states count as the same."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar

from nextprobe.planning.problem import Keyed, Process

S = TypeVar("S")


def key_of(problem: Process[S]) -> Callable[[S], Hashable]:
    """Return the problem's own key, or what takes each state as it is: hashable."""
    return problem.key if isinstance(problem, Keyed) else _itself


def _itself(state: Hashable) -> Hashable:
    return state
