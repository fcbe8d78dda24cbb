"""The record of one board that is known to be good."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

from nextprobe.board import ROOM_TEMPERATURE, BenchSetup, OverRange
from nextprobe.errors import MisuseError

Value = float | OverRange

# Standard atmospheric conditions for measurements: 15 to 35 degrees Celsius (IEC 60068-1, from
# memory).
_COLDEST, _WARMEST = 288.15, 308.15


@dataclass(frozen=True)
class GoodBoard:
    """What one known-good board read in one set-up.

    Parameters
    ----------
    device : str
        Type of device.
    label : str
        Serial number or label of the board: what tells it from others of its type.
    readings : tuple of (str, float or OverRange)
        Point, a pin or net, and what the meter showed [V, ohm or F].
    setup : BenchSetup
        How the bench stood.
    meter : str
        Which meter.
    measured_by : str
        Who measured.
    measured_on : date or None
        When.
    source : str
        Where the readings come from: ``typed``, a file and its line, a donor in a job.
    number : int or None
        Of the record in a store; None before it is kept.

    Raises
    ------
    MisuseError
        Without a device, a label or a reading; if a point comes twice; if a value is no finite
        number.
    """

    device: str
    label: str
    readings: tuple[tuple[str, Value], ...]
    setup: BenchSetup = field(default_factory=BenchSetup)
    meter: str = ""
    measured_by: str = ""
    measured_on: date | None = None
    source: str = "typed"
    number: int | None = None

    def __post_init__(self) -> None:
        if not self.device.strip() or not self.label.strip():
            raise MisuseError("a known-good board needs the type of its device and a label")
        if not self.readings or len(self.values) < len(self.readings):
            raise MisuseError("a known-good board has readings, one at each point")
        for point, value in self.readings:
            if not point or not (isinstance(value, OverRange) or math.isfinite(value)):
                raise MisuseError(f"{value} at '{point}' is no reading: over-range is a state")

    @cached_property
    def values(self) -> Mapping[str, Value]:
        """Readings by point."""
        return dict(self.readings)

    @property
    def identity(self) -> str:
        """What the board is recognised by: see :func:`identity_of`."""
        return identity_of(self.label)

    @property
    def bench(self) -> BenchSetup:
        """The set-up as far as it matters: see :func:`same_bench`."""
        return same_bench(self.setup)


def identity_of(label: str) -> str:
    """Return what a board is recognised by: its label, in whatever case and spacing."""
    return " ".join(label.split()).casefold()


def same_bench(setup: BenchSetup) -> BenchSetup:
    """Return a set-up that is equal for readings that may be compared.

    Any temperature from 15 to 35 degrees Celsius counts as room temperature, and a good board
    counts as clean.
    """
    room = _COLDEST <= setup.temperature <= _WARMEST
    warmth = ROOM_TEMPERATURE if room else setup.temperature
    return replace(setup, temperature=warmth, cleaned=False)
