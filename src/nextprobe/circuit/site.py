"""The surroundings that a part's model needs: board, conditions, deviations, temperature."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nextprobe.board import GROUND, ROOM_TEMPERATURE, Board, FaultKind, Part, Pin, Role
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.conditions import HEALTHY, Conditions
from nextprobe.circuit.defaults import LEAST_OHMS, JunctionModel
from nextprobe.circuit.deviations import NOMINAL, Deviations
from nextprobe.circuit.junction import saturation_at, thermal_voltage

BOARDS_KEPT = 16
"""Boards as designed, whole or without some parts, of which something is remembered."""


@dataclass(frozen=True)
class Site:
    """Everything outside a part that its branches depend on.

    Parameters
    ----------
    board : Board
        Whose part it is.
    conditions : Conditions
        What is wrong.
    deviations : Deviations
        How this board's parameters differ from nominal.
    temperature : float
        Of the board [K].
    """

    board: Board
    conditions: Conditions = HEALTHY
    deviations: Deviations = NOMINAL
    temperature: float = ROOM_TEMPERATURE

    @property
    def as_designed(self) -> tuple[str, float] | None:
        """Content and temperature, which all branches follow from; None unless it is nominal."""
        nominal = self.conditions.are_healthy and self.deviations == NOMINAL
        return (self.board.content, self.temperature) if nominal else None

    def under(self, conditions: Conditions) -> Site:
        """Return the same site with something else wrong."""
        return replace(self, conditions=conditions)

    def node(self, part: Part, pin: Pin) -> str:
        """Return the node of a part's terminal."""
        return self.conditions.terminal(f"{part.reference}.{pin.number}", pin.net)

    def has(self, kind: FaultKind, place: str) -> bool:
        """Whether that fault is present."""
        return self.conditions.has(kind, place)

    def magnitude(self, kind: FaultKind, place: str) -> float | None:
        """Return the magnitude of a fault if it is present and has one."""
        return self.conditions.magnitude(kind, place)

    def resistor(self, name: str, ends: tuple[str, str], ohms: float, parameter: str) -> Branch:
        """Return a resistor of nominal `ohms` that deviates with `parameter`."""
        actual = max(ohms, LEAST_OHMS) * self.deviations.factor(parameter)
        return Branch(name, *ends, actual, ohms_name=parameter)

    def junction(
        self,
        name: str,
        ends: tuple[str, str],
        model: JunctionModel,
        parameters: tuple[str, str],
        own: str = "",
    ) -> Branch:
        """Return a junction from anode to cathode.

        `parameters` name what scales its saturation current and series resistance; `own` is a
        second name of the saturation current, of this junction alone.
        """
        warm = saturation_at(model.saturation, model.emission, self.temperature)
        return Branch(
            name,
            *ends,
            model.series * self.deviations.factor(parameters[1]),
            warm * self.deviations.factor(parameters[0], own),
            model.emission * thermal_voltage(self.temperature),
            *parameters,
        )

    def leaks(self, place: str, node: str, rail: str | None = None) -> list[Branch]:
        """Return leaks from `node` to ground and to its rail that are present at `place`."""
        if place not in self.conditions.places:
            return []
        found = []
        for kind, other in ((FaultKind.LEAK_TO_GROUND, GROUND), (FaultKind.LEAK_TO_RAIL, rail)):
            ohms = self.magnitude(kind, place)
            if ohms is not None and other is not None:
                found.append(Branch(f"{place} {kind.value}", node, other, ohms))
        return found


def rail_of(board: Board, chip: Part, pin: Pin) -> str | None:
    """Return the rail that the upper clamp of a signal pin conducts to, if any."""
    if pin.supply is not None:
        return pin.supply
    return next((each.net for each in chip.pins if board.role(each.net) is Role.RAIL), None)


def is_signal(board: Board, pin: Pin) -> bool:
    """Whether a chip's pin carries a signal, not power or ground."""
    role = board.role(pin.net)
    return role is not Role.GROUND and not role.is_supply
