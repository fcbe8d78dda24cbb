"""Worlds: by what simulated devices differ from what the inference assumes, by name and frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Any

from nextprobe.board import Meter, MeterMode, MeterRange
from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class World:
    """What devices are like.

    Parameters
    ----------
    name : str
    says : str
        What differs, in words.
    simulated : bool
        Whether readings come from a circuit simulator, of a type of board that is drawn for each
        device; else from the circuit that the inference has as well.
    clamps : bool
        Whether clamps are tables drawn from what makers have published.
    heavy_tails : bool
        Whether boards and pins deviate with the tails of Student's t with 2 degrees of freedom.
    meter : Meter
        That the device is measured with; the inference and the good boards have the usual one.
    gain : float
        Largest relative error of the meter [1].
    rates : float
        Factor that the rates of faults are wrong by, up or down by kind.
    slips : float
        What is added to the chance that a probe slips.
    warmer : float
        By how much the device is warmer than the good boards [K].
    bias : float
        How far clamps of a type of chip drop more or less than is assumed [V].
    """

    name: str
    says: str
    simulated: bool = False
    clamps: bool = False
    heavy_tails: bool = False
    meter: Meter = Meter()  # noqa: RUF009  frozen, and the same for all
    gain: float = 0.008
    rates: float = 1.0
    slips: float = 0.0
    warmer: float = 0.0
    bias: float = 0.0


MATCHED = World("matched", "devices are as the inference assumes, with wider habits")

_OTHER_METER = Meter(
    "pocket meter",
    MappingProxyType(
        {
            MeterMode.DIODE: MeterRange(MeterMode.DIODE, 1.5, 1e-3, 2.0, 3, 0.6e-3, 2.4),
            MeterMode.OHMS: MeterRange(MeterMode.OHMS, 20e3, 10.0, 1.5, 5, 20e-6, 0.5),
            MeterMode.LOW_OHMS: MeterRange(MeterMode.LOW_OHMS, 200.0, 0.1, 1.5, 5, 0.6e-3, 0.6),
            MeterMode.CONTINUITY: MeterRange(MeterMode.CONTINUITY, 200.0, 0.1, 2.0, 8, 0.6e-3, 0.6),
            MeterMode.CAPACITANCE: MeterRange(MeterMode.CAPACITANCE, 60e-6, 1e-10, 4.0, 8, 0, 0.3),
            MeterMode.DC_VOLTS: MeterRange(MeterMode.DC_VOLTS, 20.0, 1e-2, 1.0, 3),
        }
    ),
)
"""A cheaper meter: less current, lower compliance and full scale; common practice, no source."""

_ALONE = (
    World("clamps", "clamps are tables drawn from published ones", simulated=True, clamps=True),
    World("heavy tails", "some boards, pins and leaks are far out", simulated=True,
          heavy_tails=True),
    World("other meter", "the device is measured with another meter", simulated=True,
          meter=_OTHER_METER, gain=0.02),
    World("rates times three", "rates of faults are wrong by a factor of 3", rates=3.0),
    World("slips", "2 % more touches slip", slips=0.02),
    World("temperature", "the device is 10 K warmer than good boards", simulated=True,
          warmer=10.0),
    World("biased", "clamps of a type of chip drop 60 mV more or less", simulated=True,
          bias=0.060),
)  # fmt: skip


def _all_of(worlds: tuple[World, ...]) -> dict[str, Any]:
    """Return whatever differs in any of some worlds."""
    names = [each.name for each in fields(World) if each.name not in {"name", "says"}]
    found = [(name, getattr(world, name)) for world in worlds for name in names]
    return {name: value for name, value in found if value != getattr(MATCHED, name)}


EVERYTHING = World("everything", "all of these together", **_all_of(_ALONE))

WORLDS: Mapping[str, World] = MappingProxyType(
    {world.name: world for world in (MATCHED, *_ALONE, EVERYTHING)}
)
"""All worlds by name."""


def world_named(name: str) -> World:
    """Return a world by its name; raises MisuseError if there is none."""
    try:
        return WORLDS[name]
    except KeyError:
        raise MisuseError(f"'{name}' is no world; there are: {', '.join(WORLDS)}") from None
