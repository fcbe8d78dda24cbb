"""What is kept of a played job: enough for every measure, small enough for thousands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from nextprobe.diagnosis.options import CLOSE
from nextprobe.trials.play import Played


@dataclass(frozen=True)
class Outcome:
    """How a job went.

    Parameters
    ----------
    price : float
        Of everything, the handing over or the lost job included [currency].
    attended, elapsed : float
        Time [s].
    steps : int
    ending : str
        ``close``, ``decline`` or ``escalate``.
    cured : bool
        Whether the complaint is really gone.
    vain : tuple of str
        Modules that were sold though the originals were good.
    wiped : bool
        Whether data was wiped.
    """

    price: float
    attended: float
    elapsed: float
    steps: int
    ending: str
    cured: bool
    vain: tuple[str, ...] = ()
    wiped: bool = False

    @property
    def right_repair(self) -> bool:
        """Whether the cause was removed and nothing was sold that was not needed."""
        return self.ending == CLOSE and self.cured and not self.vain

    def as_data(self) -> dict[str, Any]:
        """Return it as plain data for a file."""
        return {**asdict(self), "vain": list(self.vain)}


def outcome_of(played: Played) -> Outcome:
    """Return what is kept of a played job."""
    return Outcome(
        played.price,
        played.cost.attended,
        played.cost.elapsed,
        len(played.steps),
        played.ending,
        played.cured,
        played.sold_in_vain,
        played.wiped,
    )


def outcome_from(data: Mapping[str, Any]) -> Outcome:
    """Return an outcome from plain data; raises TypeError or KeyError where some is missing."""
    return Outcome(**{**data, "vain": tuple(data["vain"])})
