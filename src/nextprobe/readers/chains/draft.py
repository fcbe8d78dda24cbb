"""A board while it is being written down."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from nextprobe.board import GROUND, Board, Part, PartKind, Path, Pin, Role
from nextprobe.board.naming import automatic_net_name, natural_order
from nextprobe.readers.chains.wiring import Cluster, NetNode, Node, PinNode, Wiring


@dataclass
class DraftPart:
    """A part that still grows pins; `before` is what the board had of it already."""

    reference: str
    kind: PartKind
    note: str = ""
    value: float | None = None
    position: tuple[float, float] | None = None
    implied: bool = False
    declared: bool = False
    left_out: bool = False
    pins: dict[str, str | None] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    before: Part | None = None

    def numbers(self) -> list[str]:
        """Return the pins in their stated order, then in the order of their numbers."""
        rest = [number for number in self.pins if number not in self.order]
        return [*self.order, *sorted(rest, key=natural_order)]


@dataclass
class Draft:
    """Parts, wiring and roles; a board in the end.

    Parameters
    ----------
    name : str
        Of the board.
    roles : dict
        Role of a net, by the name that it was stated with.
    supplies : dict
        Rail of all pins of a chip that have none of their own, by its reference.
    paths : list
        Points of each main path.
    outline : tuple of paths
        Edges of the board that is added to.
    """

    name: str
    parts: dict[str, DraftPart] = field(default_factory=dict)
    wiring: Wiring = field(default_factory=Wiring)
    roles: dict[str, Role] = field(default_factory=dict)
    supplies: dict[str, str] = field(default_factory=dict)
    paths: list[list[Node]] = field(default_factory=list)
    outline: tuple[Path, ...] = ()

    def pin(self, reference: str, number: str) -> PinNode:
        """Return a pin of a part that exists, and give it to the part if it is new."""
        self.parts[reference].pins.setdefault(number, None)
        node = PinNode(reference, number)
        self.wiring.cluster(node)
        return node

    def is_real_chip(self, node: Node) -> bool:
        """Whether a node is a pin of a chip that is no stand-in."""
        if not isinstance(node, PinNode):
            return False
        part = self.parts[node.reference]
        return part.kind is PartKind.CHIP and not part.implied

    def board(self) -> Board:
        """Return what has been written down."""
        dropped = self._relieved_stand_ins()
        gone = {r for r, part in self.parts.items() if part.left_out}
        names = self._net_names()
        parts = []
        for draft in self.parts.values():
            pins = tuple(
                Pin(number, names[id(self.wiring.cluster(node))], self._supply(node, names))
                for number in draft.numbers()
                if (node := PinNode(draft.reference, number)) not in dropped
            )
            if draft.reference not in gone and (pins or not (draft.implied and draft.pins)):
                parts.append(_part(draft, pins))
        roles = {self._renamed(net, names): role for net, role in self.roles.items()}
        return Board(self.name, tuple(parts), roles, self.outline)

    def _supply(self, node: PinNode, names: dict[int, str]) -> str | None:
        stated = self.parts[node.reference].pins[node.pin]
        net = names[id(self.wiring.cluster(node))]
        supply = stated
        if stated is None and net != GROUND and not self.role_of(net).is_supply:
            supply = self.supplies.get(node.reference)
        return None if supply is None else self._renamed(supply, names)

    def role_of(self, net: str) -> Role:
        """Return the role that was stated for a net."""
        return Role.GROUND if net == GROUND else self.roles.get(net, Role.UNKNOWN)

    def _renamed(self, net: str, names: dict[int, str]) -> str:
        if not self.wiring.knows(NetNode(net)):
            return net
        return names.get(id(self.wiring.cluster(NetNode(net))), net)

    def _net_names(self) -> dict[int, str]:
        """Name every cluster, by its identity."""
        clusters = list(self.wiring.clusters())
        names = {id(c): c.name if c.name is not None else c.weak for c in clusters}
        taken = {name for name in names.values() if name is not None}
        for cluster in clusters:
            if names[id(cluster)] is None:
                name = self.automatic_name(cluster)
                while name in taken:
                    name += "_"
                taken.add(name)
                names[id(cluster)] = name
        return {key: name for key, name in names.items() if name is not None}

    def automatic_name(self, cluster: Cluster) -> str:
        """Return the name of a cluster that nobody has named."""
        pins = cluster.pins
        for kind in (PartKind.CONNECTOR, PartKind.CHIP):
            for pin in pins:
                if self.parts[pin.reference].kind is kind:
                    return automatic_net_name(pin.reference, pin.pin)
        return automatic_net_name(pins[0].reference, pins[0].pin)

    def _relieved_stand_ins(self) -> set[PinNode]:
        """Find pins of stand-ins whose place a real chip has taken."""
        if not any(part.implied for part in self.parts.values()):
            return set()
        relieved = [c for c in self.wiring.clusters() if any(map(self.is_real_chip, c.pins))]
        for path in self.paths:
            if any(map(self.is_real_chip, path)):
                clusters = map(self.wiring.cluster, path)
                relieved.extend(c for c in clusters if not self._is_shared(c))
        return {pin for c in relieved for pin in c.pins if self.parts[pin.reference].implied}

    def _is_shared(self, cluster: Cluster) -> bool:
        role = self.role_of(cluster.name or cluster.weak or "")
        return role is Role.GROUND or role.is_supply


def _part(draft: DraftPart, pins: tuple[Pin, ...]) -> Part:
    part = Part(
        draft.reference, draft.kind, pins, draft.value, draft.note, draft.position, draft.implied
    )
    return part if draft.before is None else _placed(part, draft.before)


def _placed(part: Part, before: Part) -> Part:
    """Give a part the places and the names of pins that it had before."""
    known = {pin.number: pin for pin in before.pins}
    pins = tuple(
        replace(known[pin.number], net=pin.net, supply=pin.supply) if pin.number in known else pin
        for pin in part.pins
    )
    return replace(
        before,
        kind=part.kind,
        pins=pins,
        value=part.value,
        note=part.note,
        position=part.position,
        implied=part.implied,
    )


def draft_of(board: Board) -> Draft:
    """Return a draft to go on from a board that exists."""
    draft = Draft(board.name, roles=dict(board.roles), outline=board.outline)
    for name, net in board.nets.items():
        if name in {automatic_net_name(*pin.split(".", 1)) for pin in net.pins}:
            draft.wiring.add_weak(name)
    for part in board.parts:
        draft.parts[part.reference] = DraftPart(
            part.reference, part.kind, part.note, part.value, part.position, part.implied, True
        )
        draft.parts[part.reference].before = part
        for pin in part.pins:
            draft.wiring.join(draft.pin(part.reference, pin.number), NetNode(pin.net))
            draft.parts[part.reference].pins[pin.number] = pin.supply
        draft.parts[part.reference].order = tuple(pin.number for pin in part.pins)
    return draft
