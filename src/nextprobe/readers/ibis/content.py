"""What an IBIS file says of a chip's pins, as far as a meter can see it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from nextprobe.circuit.clamp_table import ClampCorners

NOT_A_SIGNAL = ("POWER", "GND", "NC")
"""Reserved words in place of a pin's model."""


@dataclass(frozen=True)
class Corners:
    """A number at the typical process and at its corners; None where not available."""

    typ: float | None = None
    min: float | None = None
    max: float | None = None


@dataclass(frozen=True)
class IbisPin:
    """One pin of a component.

    Parameters
    ----------
    number, signal : str
        As in ``A7`` and ``SDA``.
    model : str
        Name of a model, of a selector, or one of `NOT_A_SIGNAL`.
    line : int
        Where it stands.
    """

    number: str
    signal: str
    model: str
    line: int


@dataclass(frozen=True)
class Component:
    """A chip in its package.

    Parameters
    ----------
    name, manufacturer : str
    pins : tuple of IbisPin
        Each number once.
    line : int
        Where it begins.
    """

    name: str
    manufacturer: str
    pins: tuple[IbisPin, ...]
    line: int

    def named(self, name: str) -> IbisPin | None:
        """Return the pin of that number, else the only one with that signal, in any case."""
        wanted = name.casefold()
        numbered = [pin for pin in self.pins if pin.number.casefold() == wanted]
        called = [pin for pin in self.pins if pin.signal.casefold() == wanted]
        return (numbered or called)[0] if numbered or len(called) == 1 else None


@dataclass(frozen=True)
class Model:
    """A kind of pin.

    Parameters
    ----------
    name : str
    kind : str
        As in ``Input``, ``I/O`` or ``3-state``; empty where not stated.
    line : int
        Where it begins.
    numbers : mapping of str to Corners
        What a keyword or parameter says, by its name in small letters: ``c_comp`` [F],
        ``temperature_range`` [°C], ``voltage_range`` and references of clamps [V].
    clamps : mapping of str to ClampCorners or None
        ``gnd_clamp`` and ``power_clamp``, as far as the file has them; None for a table that
        can not be used.
    submodels : tuple of str
        What is added to it and not read.
    """

    name: str
    kind: str = ""
    line: int = 0
    numbers: Mapping[str, Corners] = field(default_factory=dict)
    clamps: Mapping[str, ClampCorners | None] = field(default_factory=dict)
    submodels: tuple[str, ...] = ()

    @property
    def ground_clamp(self) -> ClampCorners | None:
        """Clamp from ground to the pin; None where there is no table that can be used."""
        return self.clamps.get("gnd_clamp")

    @property
    def power_clamp(self) -> ClampCorners | None:
        """Clamp from the pin to its supply; None where there is no table that can be used."""
        return self.clamps.get("power_clamp")

    def typical(self, name: str) -> float | None:
        """Return the typical value of one of its numbers; None where it is not stated."""
        return self.numbers.get(name, Corners()).typ


@dataclass(frozen=True)
class IbisFile:
    """All that was read.

    Parameters
    ----------
    version : str
        Of the format, as written; empty where not stated.
    components : tuple of Component
    models : mapping of str to Model
        By name.
    selectors : mapping of str to tuple of str
        Models that a programmable pin may be, the default first, by the selector's name.
    """

    version: str
    components: tuple[Component, ...]
    models: Mapping[str, Model] = field(default_factory=dict)
    selectors: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def model_of(self, pin: IbisPin) -> Model | None:
        """Return the model of a signal pin: of a selector, the first that there is."""
        names = self.selectors.get(pin.model, (pin.model,))
        return next((self.models[name] for name in names if name in self.models), None)

    def component(self, name: str = "") -> Component | None:
        """Return the component of that name, in any case; without a name, the only one."""
        if not name:
            return self.components[0] if len(self.components) == 1 else None
        alike = [each for each in self.components if each.name.casefold() == name.casefold()]
        exact = [each for each in alike if each.name == name]
        return next(iter(exact or alike), None)
