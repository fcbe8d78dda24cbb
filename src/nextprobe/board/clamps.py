"""What the maker of a chip has published of the clamps of its pins."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class Clamp:
    """One junction of a pin.

    Parameters
    ----------
    saturation : float
        Saturation current [A] at 25 °C.
    emission : float
        Emission coefficient [1].
    series : float
        Series resistance [ohm].
    spread : float
        Standard deviation of its drop at 1 mA from chip to chip, the model's own error
        included [V].

    Raises
    ------
    MisuseError
        If a number is not positive and finite.
    """

    saturation: float
    emission: float
    series: float
    spread: float

    def __post_init__(self) -> None:
        numbers = (self.saturation, self.emission, self.series, self.spread)
        if not all(0.0 < number < inf for number in numbers):
            raise MisuseError("the parameters of a clamp are positive numbers")


@dataclass(frozen=True)
class PinClamps:
    """The clamps of one signal pin; what is None takes the usual values.

    Parameters
    ----------
    lower : Clamp or None
        From ground to the pin.
    upper : Clamp or None
        From the pin to its supply rail.
    no_upper : bool
        Whether there is none to the rail.

    Raises
    ------
    MisuseError
        If there is an upper clamp and there is none.
    """

    lower: Clamp | None = None
    upper: Clamp | None = None
    no_upper: bool = False

    def __post_init__(self) -> None:
        if self.no_upper and self.upper is not None:
            raise MisuseError("a pin has an upper clamp or it has none")
