"""Scores of an entry that says what to do: its expected costs beside the optima."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from frozen_bench.files import OPTIMA, PROBLEMS, EntryError, read
from frozen_bench.policies import Node, cost_of
from frozen_bench.problems import problem_from

_ROUNDING = 1e-6


@dataclass(frozen=True)
class Costed:
    """What a policy costs on one problem.

    Parameters
    ----------
    id, family : str
    cost : float
        Expected [currency].
    lower, upper : float
        Where the optimal expected cost lies; the same where it is known.
    """

    id: str
    family: str
    cost: float
    lower: float
    upper: float

    @property
    def excess(self) -> float:
        """By what share it exceeds the best that is known."""
        return self.cost / self.upper - 1.0


def costed(entry: Mapping[str, list[Node]]) -> list[Costed]:
    """Return what each policy of an entry costs.

    Raises
    ------
    EntryError
        If a problem is missing, or a policy can not be followed or beats what can be reached.
    """
    optima, found = read(OPTIMA), []
    for data in read(PROBLEMS):
        if data["id"] not in entry:
            raise EntryError(f"{data['id']}: there is no policy")
        known = optima[data["id"]]
        cost = cost_of(problem_from(data), entry[data["id"]])
        if cost < known["lower"] - _ROUNDING:
            raise EntryError(f"{data['id']}: {cost} is below the bound {known['lower']}")
        found.append(Costed(data["id"], data["family"], cost, known["lower"], known["upper"]))
    return found


def planning_scores(found: Sequence[Costed]) -> dict[str, Any]:
    """Return the excess over the optimum, and over the best policy known where it is not."""
    exact = [each for each in found if each.upper - each.lower < _ROUNDING]
    large = [each for each in found if each not in exact]
    families = dict.fromkeys(each.family for each in exact)
    return {
        "exact": _excess(exact),
        "families": {
            name: _excess([each for each in exact if each.family == name]) for name in families
        },
        "bounded": {
            "problems": len(large),
            "over_best_known": float(np.mean([each.excess for each in large])),
            "over_lower_bound": float(np.mean([each.cost / each.lower - 1.0 for each in large])),
            "better_than_known": sum(each.cost < each.upper - _ROUNDING for each in large),
        },
    }


def _excess(found: Sequence[Costed]) -> dict[str, Any]:
    excess = np.array([each.excess for each in found])
    worst = found[int(excess.argmax())]
    return {
        "problems": len(found),
        "mean": float(excess.mean()),
        "median": float(np.median(excess)),
        "worst": float(excess.max()),
        "worst_problem": worst.id,
    }
