"""What is kept of a rehearsed device, and how it is written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from nextprobe.trials.coverage import Interval
from nextprobe.trials.outcome import Outcome, outcome_from
from nextprobe.trials.reliability import Tally, tally_from


@dataclass(frozen=True)
class DeviceRecord:
    """One simulated device under all strategies.

    Parameters
    ----------
    number : int
    complaint : str
    truth : tuple of str
        Keys of what was really wrong.
    jobs : mapping of str to Outcome
        By strategy.
    marginals, leading : mapping of str to Tally
        Forecasts by checkpoint; see :class:`nextprobe.trials.checkpoints.Forecasts`.
    places : tuple of float
        Where readings fell in their predictions.
    intervals : tuple of Interval
        Whether the intervals of numbers held them.
    """

    number: int
    complaint: str
    truth: tuple[str, ...]
    jobs: Mapping[str, Outcome]
    marginals: Mapping[str, Tally] = field(default_factory=dict)
    leading: Mapping[str, Tally] = field(default_factory=dict)
    places: tuple[float, ...] = ()
    intervals: tuple[Interval, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """Return it as plain data for a file."""
        return {
            "device": self.number,
            "complaint": self.complaint,
            "truth": list(self.truth),
            "jobs": {name: job.as_data() for name, job in self.jobs.items()},
            "marginals": {name: each.as_data() for name, each in self.marginals.items()},
            "leading": {name: each.as_data() for name, each in self.leading.items()},
            "places": list(self.places),
            "intervals": [asdict(each) for each in self.intervals],
        }


def record_from(data: Mapping[str, Any]) -> DeviceRecord:
    """Return a record from plain data.

    Raises
    ------
    KeyError, TypeError or ValueError
        If it is none.
    """
    return DeviceRecord(
        int(data["device"]),
        str(data["complaint"]),
        tuple(data["truth"]),
        {name: outcome_from(job) for name, job in data["jobs"].items()},
        {name: tally_from(each) for name, each in data["marginals"].items()},
        {name: tally_from(each) for name, each in data["leading"].items()},
        tuple(float(place) for place in data["places"]),
        tuple(Interval(**each) for each in data.get("intervals", ())),
    )
