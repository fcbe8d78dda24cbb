"""What to do next, and why, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from nextprobe.planning.option import Option


@dataclass(frozen=True)
class Reason:
    """One argument for a recommendation.

    Parameters
    ----------
    kind : str
        What sort of argument: ``price``, ``ends``, ``value of information``, ``near tie`` …
    text : str
        In words.
    numbers : mapping of str to float
        The figures in it.
    step : str
        Id of the option or plan entry that it is about, if it is about another one.
    """

    kind: str
    text: str
    numbers: Mapping[str, float] = field(default_factory=dict, hash=False)
    step: str = ""


@dataclass(frozen=True)
class Forecast:
    """One outcome of the recommended option and what would follow.

    Parameters
    ----------
    label : str
        What is seen.
    probability : float
        Of that.
    then : str
        Id of the option or plan entry that would come next; empty if the job has ended.
    cost : float
        Expected cost from there on, by an executable plan [currency].
    plan : tuple of str
        The plan that achieves it or less, as far as it is fixed.
    """

    label: str
    probability: float
    then: str
    cost: float
    plan: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ranked:
    """An option with its bound.

    Parameters
    ----------
    option : Option
        What could be done.
    cost : float
        Expected cost of the whole job if it is done next, by an executable plan [currency].
    price : float
        Of the option alone [currency].
    """

    option: Option
    cost: float
    price: float


@dataclass(frozen=True)
class Recommendation:
    """The option with the lowest expected cost that was found.

    Parameters
    ----------
    option : Option
        What to do next.
    cost : float
        Expected cost of the whole job, an upper bound: a plan that can be carried out [currency].
    lower_bound : float
        Expected cost with perfect information, which nothing beats [currency].
    branches : tuple of Forecast
        What may be seen and what then.
    reasons : tuple of Reason
        Why.
    alternatives : tuple of Ranked
        The recommended option, then all others, cheapest first; of near equals the one that gets on
        with the job is recommended, so that the second may be the cheaper by a little.
    near_tie : bool
        Whether the runner-up is so close that either is as good.
    expansions : int
        How many look-aheads were spent.
    """

    option: Option
    cost: float
    lower_bound: float
    branches: tuple[Forecast, ...]
    reasons: tuple[Reason, ...]
    alternatives: tuple[Ranked, ...]
    near_tie: bool = False
    expansions: int = 0

    @property
    def runner_up(self) -> Ranked | None:
        """The second-best option, if there is one."""
        return self.alternatives[1] if len(self.alternatives) > 1 else None
