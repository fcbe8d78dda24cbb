"""How far the parameters of one board's parts are from their nominal values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, isfinite
from types import MappingProxyType

from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class Deviations:
    """Deviations of the logarithm of parameters from nominal.

    A parameter belongs to a chip and the role of a pin, so that sibling pins share it:

    ========================  ==========================================================
    ``Is:U3:lane``            saturation current of the ground clamps of U3's lanes
    ``Is:U3:lane:upper``      the same of their clamps to the supply rail
    ``Is:U3.AB4``             saturation current of the ground clamp of one pin, on top
    ``Is:U3:supply``          saturation current of U3's substrate diodes
    ``Rs:U3``                 series resistance of U3's signal clamps
    ``Is:D5``, ``Rs:D5``      the same of a diode, protection part or body diode
    ``leak:RAIL``             resistance to ground of what the chips load a rail with
    ``R:R12``                 resistance of a resistor, ferrite or inductor
    ``C:C87``                 capacitance of a capacitor
    ========================  ==========================================================

    Parameters
    ----------
    of : mapping of str to float
        Deviation of ln(value) by name; what is not named is nominal.

    Raises
    ------
    MisuseError
        If a deviation is not finite.
    """

    of: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        odd = sorted(name for name, value in self.of.items() if not isfinite(value))
        if odd:
            raise MisuseError(f"deviations that are not finite: {', '.join(odd)}")
        object.__setattr__(self, "of", MappingProxyType(dict(self.of)))

    def factor(self, *names: str) -> float:
        """Return what to multiply a nominal value by, given all names that it goes by."""
        if not self.of:
            return 1.0
        return exp(sum(self.of.get(name, 0.0) for name in names))


NOMINAL = Deviations()
