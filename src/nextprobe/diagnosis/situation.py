"""Where a job stands: what is believed, what is known for certain, what was tried."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from nextprobe.belief import Ensemble
from nextprobe.planning import Configuration

HYPOTHESIS = "hypothesis"
ACTIVE = "active"
CURED_AT = "cured at"
HEARD = "heard:"
GOOD, BAD = 0, 1
NEVER, ALWAYS, SOMETIMES = 0, 1, 2


def shows(function: str) -> str:
    """Name the column that says whether the fault shows itself in `function`."""
    return f"shows:{function}"


def quality(slot: str, instance: str) -> str:
    """Name the column that says whether an instance of a module is good or bad."""
    return f"quality:{slot}:{instance}"


@dataclass(frozen=True, eq=False)
class Situation:
    """A state of a job, as planning sees it.

    Parameters
    ----------
    ensemble : Ensemble
        Possible worlds.
    configuration : Configuration
        What is fitted, refreshed, opened.
    working : bool or None
        What the last check of the complaint said, with nothing changed since; None if there is
        no such check.
    tried : frozenset of str
        Acts that would tell nothing new if repeated now.
    looks : mapping of str to str
        Looks already counted and what was seen.
    failed : frozenset of (str, str)
        Modules and instances with which the complaint still failed, recognised as they were.
    changes : int
        How often something was done that may have cured the device.
    spent : float
        What time and parts have come to so far [currency].
    """

    ensemble: Ensemble
    configuration: Configuration
    working: bool | None = None
    tried: frozenset[str] = frozenset()
    looks: Mapping[str, str] = field(default_factory=dict)
    failed: frozenset[tuple[str, str]] = frozenset()
    changes: int = 0
    spent: float = 0.0

    def with_tried(self, *names: str) -> Situation:
        """Return the situation with acts noted as tried."""
        return replace(self, tried=self.tried.union(names))

    def without_tried(self, names: frozenset[str]) -> Situation:
        """Return the situation with acts that may tell something new again."""
        return replace(self, tried=self.tried - names)
