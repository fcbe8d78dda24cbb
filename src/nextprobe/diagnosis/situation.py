"""Where a job stands: what is believed, what is known for certain, what was tried."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble, JointBranches
from nextprobe.planning import Configuration

HYPOTHESIS = "hypothesis"
ACTIVE = "active"
CURED_AT = "cured at"
READ_AS = "read as"
"""Column of the histories of readings, each with a belief of its own about deviations."""
HEARD = "heard:"
SHOWS = "shows:"
GOOD, BAD = 0, 1
NEVER, ALWAYS, SOMETIMES = 0, 1, 2
WAYS = 3
"""In how many ways a fault shows itself: the digits of a column of manifestations."""


def jointly(chances: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the chance of each code of how all members show, one digit each.

    Parameters
    ----------
    chances : ndarray, shape (R, M, 3)
        Of NEVER, ALWAYS and SOMETIMES for each member.

    Returns
    -------
    ndarray, shape (R, 3 ** M)
    """
    joint = chances[:, 0, :]
    for member in range(1, chances.shape[1]):
        joint = (chances[:, member, :, None] * joint[:, None, :]).reshape(len(joint), -1)
    return joint


def digits(codes: NDArray[np.intp], members: int) -> NDArray[np.intp]:
    """Return how each member shows, shape (R, M), from codes of :func:`jointly`."""
    return np.asarray(codes[:, None] // WAYS ** np.arange(members) % WAYS)


def shows(function: str) -> str:
    """Name the column that says whether the fault shows itself in `function`."""
    return f"{SHOWS}{function}"


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
    deviating : JointBranches or None
        What is known of how this board deviates, by code of :data:`READ_AS`; None before any
        reading.
    """

    ensemble: Ensemble
    configuration: Configuration
    working: bool | None = None
    tried: frozenset[str] = frozenset()
    looks: Mapping[str, str] = field(default_factory=dict)
    failed: frozenset[tuple[str, str]] = frozenset()
    changes: int = 0
    spent: float = 0.0
    deviating: JointBranches | None = None

    @cached_property
    def told(self) -> dict[Hashable, NDArray[np.float64]]:
        """What has been worked out of this situation for :mod:`~nextprobe.diagnosis.pieces`."""
        return {}

    @property
    def certain(self) -> tuple[Hashable, ...]:
        """All that is no matter of belief, but for what was spent."""
        looks = frozenset(self.looks.items())
        return self.configuration, self.working, self.tried, looks, self.failed, self.changes

    def with_tried(self, *names: str) -> Situation:
        """Return the situation with acts noted as tried."""
        return replace(self, tried=self.tried.union(names))

    def with_deviating(self, ensemble: Ensemble, deviating: JointBranches) -> Situation:
        """Return the situation with other knowledge of how this board deviates."""
        return replace(self, ensemble=ensemble, deviating=deviating)

    def without_tried(self, names: frozenset[str]) -> Situation:
        """Return the situation with acts that may tell something new again."""
        return replace(self, tried=self.tried - names)
