"""Greedy information gain: the question that tells most for its price."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.planning import Option
from nextprobe.trials.strategies.rules import Offered, follow_plan, offered, settled

_ASKS = frozenset({"check", "look", "reading", "run", "current", "trial", "refresh"})
# A fault that is this likely is acted upon; what tells less than this is not worth asking [bit].
# Whoever has asked this often, at two moves a question, goes over to repairs.
_SURE = 0.7
_WORTH_ASKING = 0.05
_MOST_QUESTIONS = 15


class InformationGain:
    """Ask what tells most bits about the fault per price, until one fault leads; then repair.

    The gain is the expected loss of entropy over the families of faults that are left, none
    among them (Lindley 1956, On a measure of the information provided by an experiment).
    """

    name = "information gain"

    def choose(self, case: Case) -> str:
        """Return the question with the most bits per price, or the next repair."""
        open_now = offered(case)
        must = settled(case, open_now)
        if must is not None:
            return must
        return self._question(case, open_now) or follow_plan(case, open_now)

    def _question(self, case: Case, open_now: Offered) -> str | None:
        before = _chances(case, case.situation)
        if before.max() > _SURE or len(case.moves) > 2 * _MOST_QUESTIONS:
            return None
        gains = {name: _gain(case, option, _bits(before))
                 for name, option in open_now.items() if option.kind in _ASKS}  # fmt: skip
        worth = [name for name, gain in gains.items() if gain > _WORTH_ASKING]
        prices = {name: case.problem.price(case.situation, open_now[name]) for name in worth}
        return max(worth, key=lambda name: gains[name] / max(prices[name], 1e-9), default=None)


def _gain(case: Case, option: Option, before: float) -> float:
    """Return the expected loss of entropy [bit]."""
    after = 0.0
    for branch in case.problem.outcomes(case.situation, option):
        if branch.state is not None:
            after += branch.probability * _bits(_chances(case, branch.state))
    return before - after


def _chances(case: Case, situation: Situation) -> NDArray[np.float64]:
    """Return the shares of the families that are left, and of none."""
    left = family_chances(case.model, situation, only_active=True)
    shares = np.append(left, max(0.0, 1.0 - float(left.sum())))
    return np.asarray(shares / shares.sum())


def _bits(shares: NDArray[np.float64]) -> float:
    held = shares[shares > 0.0]
    return float(-(held * np.log2(held)).sum())
