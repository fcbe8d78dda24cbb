"""What is wrong with a board, looked up by place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from nextprobe.board import Board, Fault, FaultKind, PartKind
from nextprobe.errors import MisuseError

NEEDS_MAGNITUDE = frozenset(
    {
        FaultKind.LEAKY,
        FaultKind.DRIFTED,
        FaultKind.HIGH_RESISTANCE,
        FaultKind.LEAK_TO_GROUND,
        FaultKind.LEAK_TO_RAIL,
    }
)


@dataclass(frozen=True)
class Conditions:
    """Faults that are present together.

    Parameters
    ----------
    marks : mapping of (FaultKind, str) to float or None
        Magnitude by kind and place, for faults of parts and pins.
    bridges : tuple of (str, str)
        Pairs of pins that are joined.
    cut : mapping of str to str
        Net that a pin was cut off from, by pin.
    """

    marks: Mapping[tuple[FaultKind, str], float | None]
    bridges: tuple[tuple[str, str], ...] = ()
    cut: Mapping[str, str] | None = None

    @cached_property
    def places(self) -> frozenset[str]:
        """Parts and pins that something is wrong with, other than bridges and broken nets."""
        return frozenset(place for _, place in self.marks)

    @property
    def are_healthy(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.marks or self.bridges or self.cut)

    def has(self, kind: FaultKind, place: str) -> bool:
        """Whether that fault is present."""
        return place in self.places and (kind, place) in self.marks

    def magnitude(self, kind: FaultKind, place: str) -> float | None:
        """Return the magnitude of a fault if it is present and has one."""
        return self.marks.get((kind, place)) if place in self.places else None

    def pad(self, pin_name: str, net: str) -> str:
        """Return the node under the pad of a pin."""
        return f"{net}/{pin_name}" if self.cut and pin_name in self.cut else net

    def joint_is_sound(self, pin_name: str) -> bool:
        """Whether pad and terminal of a pin are one node."""
        kinds = FaultKind.JOINT_OPEN, FaultKind.HIGH_RESISTANCE
        return pin_name not in self.places or not any(self.has(kind, pin_name) for kind in kinds)

    def terminal(self, pin_name: str, net: str) -> str:
        """Return the node of the part's side of a joint."""
        return self.pad(pin_name, net) if self.joint_is_sound(pin_name) else f"{pin_name} joint"

    def touched(self, board: Board, point: str) -> str:
        """Return the node under a probe: the contact of a connector, else the pad or net.

        Raises
        ------
        MisuseError
            If the board has no such point.
        """
        net = board.net_of(point)
        if point == net:
            return net
        connector = board.part(point.partition(".")[0]).kind is PartKind.CONNECTOR
        return self.terminal(point, net) if connector else self.pad(point, net)


HEALTHY = Conditions({})


def conditions_of(board: Board, faults: Iterable[Fault]) -> Conditions:
    """Return the conditions under `faults`; those that are not electrical are left out.

    Raises
    ------
    MisuseError
        If a fault names a place that the board has not, or lacks a needed magnitude.
    """
    marks: dict[tuple[FaultKind, str], float | None] = {}
    bridges: list[tuple[str, str]] = []
    cut: dict[str, str] = {}
    for fault in faults:
        if not fault.kind.is_electrical:
            continue
        _require_magnitude(fault)
        if fault.kind is FaultKind.BRIDGE:
            bridges.append(_bridge(board, fault))
        elif fault.kind is FaultKind.BROKEN_NET:
            net, pin_name = _broken(board, fault)
            cut[pin_name] = net
        else:
            _require_place(board, fault.place)
            marks[fault.kind, fault.place] = fault.magnitude
    return Conditions(marks, tuple(bridges), cut)


def _require_magnitude(fault: Fault) -> None:
    if fault.kind in NEEDS_MAGNITUDE and not (fault.magnitude and fault.magnitude > 0):
        raise MisuseError(f"{fault.key} needs a positive magnitude")


def _require_place(board: Board, place: str) -> None:
    if place not in board.by_reference:
        board.part(place.partition(".")[0]).pin(place.partition(".")[2])


def _bridge(board: Board, fault: Fault) -> tuple[str, str]:
    first, tilde, second = fault.place.partition("~")
    if not tilde:
        raise MisuseError(f"{fault.key}: a bridge joins two pins, as in J4.12~J4.13")
    board.net_of(first), board.net_of(second)
    return first, second


def _broken(board: Board, fault: Fault) -> tuple[str, str]:
    net, _, pin_name = fault.place.rpartition("/")
    if board.net_of(pin_name) != net:
        raise MisuseError(f"{fault.key}: {pin_name} is not on {net}")
    return net, pin_name
