"""A board made of nothing but a pinout.

Where a connector's pin carries a signal, something on the board must be at its other end. A
stand-in chip takes that place until somebody says what it is.
"""

from __future__ import annotations

from collections.abc import Mapping

from nextprobe.board.board import GROUND, Board, Part, Pin
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.naming import automatic_net_name
from nextprobe.board.net_names import partner_of, role_from_name
from nextprobe.board.pinout import PinRow, PinTable
from nextprobe.board.reading import OVER_RANGE

TIED_TO_GROUND = 2e-3
"""A nameless pin of a good board that reads less than this [V] is a ground pin."""


def stand_in_reference(connector: str) -> str:
    """Return the designator of the stand-in behind a connector: ``U?J4``."""
    return f"U?{connector}"


def sketch_from_pinout(pinout: PinTable, name: str) -> Board:
    """Make a board from the pins of its connectors.

    Each signal net gets a pin of a stand-in chip whose upper clamp conducts to the first rail of
    its connector, else of the sketch; each rail gets a supply pin of it. Pins called not
    connected get nets of their own. A pin that reads over-range on a good board gets nothing:
    nothing conducts there.

    Parameters
    ----------
    pinout : PinTable
        As people type it, with names or readings or both.
    name : str
        What the board is called.
    """
    roles = {row.point: _role(row, pinout) for row in pinout.rows}
    nets = {row.point: _net(row, roles[row.point]) for row in pinout.rows}
    parts: list[Part] = []
    for connector in pinout.connectors:
        rows = pinout.of(connector)
        pins = tuple(Pin(row.pin, nets[row.point]) for row in rows)
        parts.append(Part(connector, PartKind.CONNECTOR, pins))
    parts.extend(_stand_ins(pinout, roles, nets))
    known = {nets[point]: role for point, role in roles.items() if role is not Role.UNKNOWN}
    return Board(name, tuple(parts), {net: role for net, role in known.items() if net != GROUND})


def _role(row: PinRow, pinout: PinTable) -> Role:
    if row.role is not None:
        return row.role
    if row.name:
        partner = partner_of(row.name)
        if partner is not None and any(other.name == partner for other in pinout.rows):
            return Role.LANE
        guess = role_from_name(row.name)
        if guess is not None:
            return guess.role
    tied = isinstance(row.good, float) and row.good < TIED_TO_GROUND and not row.name
    return Role.GROUND if tied else Role.UNKNOWN


def _net(row: PinRow, role: Role) -> str:
    if role is Role.GROUND:
        return GROUND
    if role is Role.NOT_CONNECTED or not row.name:
        return automatic_net_name(row.connector, row.pin)
    return row.name


def _stand_ins(pinout: PinTable, roles: Mapping[str, Role], nets: Mapping[str, str]) -> list[Part]:
    served: set[str] = set()
    parts = []
    any_rail = next((nets[point] for point, role in roles.items() if role.is_supply), None)
    for connector in pinout.connectors:
        rows = pinout.of(connector)
        rail = next((nets[r.point] for r in rows if roles[r.point].is_supply), any_rail)
        pins = []
        for row in rows:
            if not _conducts(row, roles[row.point]):
                continue
            net = nets[row.point]
            if net not in served:
                served.add(net)
                pins.append(Pin(row.pin, net, None if roles[row.point].is_supply else rail))
        if pins:
            parts.append(_stand_in(connector, tuple(pins)))
    return parts


def _stand_in(connector: str, pins: tuple[Pin, ...]) -> Part:
    note = f"whatever is behind {connector}"
    return Part(stand_in_reference(connector), PartKind.CHIP, pins, note=note, implied=True)


def _conducts(row: PinRow, role: Role) -> bool:
    return role not in (Role.GROUND, Role.NOT_CONNECTED) and row.good is not OVER_RANGE
