"""Parts, pins and nets: the board as a technician names it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import sha256
from types import MappingProxyType

from nextprobe.board.clamps import PinClamps
from nextprobe.board.geometry import Pad, Path, Point, Side
from nextprobe.board.kinds import PartKind, Role
from nextprobe.errors import MisuseError

GROUND = "GND"


@dataclass(frozen=True)
class Pin:
    """One terminal of a part.

    Parameters
    ----------
    number : str
        Name of the pin within its part, as in ``AB4``.
    net : str
        Net that it is joined to.
    supply : str or None
        For a chip's signal pin, the rail that its upper clamp conducts to.
    function : str
        What the part's maker calls the pin, as in ``SDA``; empty where unknown.
    pads : tuple of Pad
        Its copper, largest first; empty where nobody has said where it is.
    clamps : PinClamps or None
        What the chip's maker has published of its clamps; None where nobody has looked.
    """

    number: str
    net: str
    supply: str | None = None
    function: str = ""
    pads: tuple[Pad, ...] = ()
    clamps: PinClamps | None = None

    @property
    def position(self) -> Point | None:
        """Centre of its largest pad [m]; None where unknown."""
        return self.pads[0].position if self.pads else None

    @property
    def side(self) -> Side | None:
        """From where it can be touched; None where unknown."""
        sides = {pad.side for pad in self.pads}
        if len(sides) > 1:
            return Side.BOTH
        return next(iter(sides), None)


@dataclass(frozen=True)
class Part:
    """One component.

    Parameters
    ----------
    reference : str
        Designator, as in ``C87`` (IEEE 315).
    kind : PartKind
        What it is.
    pins : tuple of Pin
        In the order of the data that they came from.
    value : float or None
        Main value [ohm, farad or henry]; None where unknown.
    note : str
        The words that the value was read from, or what the part does.
    position : (float, float) or None
        Centre on the board [m].
    implied : bool
        True for a stand-in: something must be there, nobody has said what.
    fitted : bool
        False where the board has pads for it and is built without it.
    side : Side or None
        Where it is mounted; None where unknown.
    rotation : float
        How it is turned [°].
    outline : tuple of (float, float)
        Corners of its body on the board [m]; empty where unknown.
    """

    reference: str
    kind: PartKind
    pins: tuple[Pin, ...]
    value: float | None = None
    note: str = ""
    position: Point | None = None
    implied: bool = False
    fitted: bool = True
    side: Side | None = None
    rotation: float = 0.0
    outline: Path = ()

    def pin(self, number: str) -> Pin:
        """Return the pin called `number`.

        Raises
        ------
        MisuseError
            If the part has no such pin.
        """
        for pin in self.pins:
            if pin.number == number:
                return pin
        raise MisuseError(f"{self.reference} has no pin {number}")


@dataclass(frozen=True)
class Net:
    """Pins that are joined; `pins` holds names such as ``J4.12``."""

    name: str
    pins: tuple[str, ...]


@dataclass(frozen=True)
class Board:
    """Everything that is known of one board; immutable.

    Parameters
    ----------
    name : str
        What the board is called.
    parts : tuple of Part
        Unique by reference.
    roles : mapping of str to Role
        Role of a net, where it is known; ground is always known.
    outline : tuple of paths
        Edges of the board and of its cut-outs [m]; empty where unknown.
    """

    name: str
    parts: tuple[Part, ...]
    roles: Mapping[str, Role] = field(default_factory=dict)
    outline: tuple[Path, ...] = ()

    def __post_init__(self) -> None:
        counted = Counter(part.reference for part in self.parts)
        twice = sorted(name for name, times in counted.items() if times > 1)
        if twice:
            raise MisuseError(f"parts named twice: {', '.join(twice)}")
        object.__setattr__(self, "roles", MappingProxyType(dict(self.roles)))

    @cached_property
    def by_reference(self) -> Mapping[str, Part]:
        """Parts by their designator."""
        return {part.reference: part for part in self.parts}

    @cached_property
    def fitted(self) -> tuple[Part, ...]:
        """Parts that are there; of the others there are only pads."""
        return tuple(part for part in self.parts if part.fitted)

    @cached_property
    def nets(self) -> Mapping[str, Net]:
        """Nets by name, made from the pins."""
        members: dict[str, list[str]] = {}
        for part in self.parts:
            for pin in part.pins:
                members.setdefault(pin.net, []).append(f"{part.reference}.{pin.number}")
        return {name: Net(name, tuple(pins)) for name, pins in members.items()}

    @cached_property
    def content(self) -> str:
        """Hash of all that a circuit depends on: name, parts and roles.

        Places, names that a chip's maker gave to its pins, and the order of parts do not matter.
        """
        parts = sorted(map(_electrical, self.parts))
        roles = sorted((net, role.value) for net, role in self.roles.items())
        return sha256(repr((self.name, parts, roles)).encode()).hexdigest()

    def part(self, reference: str) -> Part:
        """Return a part by its designator; raises MisuseError if unknown."""
        try:
            return self.by_reference[reference]
        except KeyError:
            raise MisuseError(f"{self.name} has no part {reference}") from None

    def role(self, net: str) -> Role:
        """Return the role of a net, `Role.UNKNOWN` where nobody has said."""
        if net == GROUND:
            return Role.GROUND
        return self.roles.get(net, Role.UNKNOWN)

    @cached_property
    def _pins(self) -> Mapping[str, tuple[Part, Pin]]:
        return {
            f"{part.reference}.{pin.number}": (part, pin)
            for part in self.parts
            for pin in part.pins
        }

    def net_of(self, point: str) -> str:
        """Return the net under `point`, a pin (``J4.12``) or a net name.

        Raises
        ------
        MisuseError
            If the board has neither such a pin nor such a net.
        """
        if point in self.nets or point == GROUND:
            return point
        if point in self._pins:
            return self._pins[point][1].net
        raise MisuseError(f"{self.name} has no pin or net {point}")

    def has_point(self, point: str) -> bool:
        """Whether `point` names a pin or a net of this board."""
        return point in self.nets or point == GROUND or point in self._pins

    def parts_on(self, net: str) -> Iterator[tuple[Part, Pin]]:
        """Yield each fitted part with the pin that it has on `net`."""
        for name in self.nets[net].pins if net in self.nets else ():
            if self._pins[name][0].fitted:
                yield self._pins[name]

    def with_parts(self, parts: Iterable[Part]) -> Board:
        """Return a board in which `parts` replace their namesakes or are added."""
        merged = dict(self.by_reference) | {part.reference: part for part in parts}
        return replace(self, parts=tuple(merged.values()))

    def with_roles(self, roles: Mapping[str, Role]) -> Board:
        """Return a board in which the given nets have the given roles."""
        return replace(self, roles=dict(self.roles) | dict(roles))


def _electrical(part: Part) -> str:
    """Write down what a circuit depends on.

    Tables on disk are found by the hash of these words: changing them makes all of those stale.
    """
    pins = ", ".join(
        f"Pin(number={pin.number!r}, net={pin.net!r}, supply={pin.supply!r}{_published(pin)})"
        for pin in part.pins
    )
    closed = f"({pins},)" if len(part.pins) == 1 else f"({pins})"
    words = (part.reference, part.kind.value, part.value, part.note, part.implied)
    first, kind, value, note, implied = map(repr, words)
    left_out = "" if part.fitted else " not fitted"
    return f"({first}, {kind}, {closed}, {value}, {note}, {implied}){left_out}"


def _published(pin: Pin) -> str:
    return "" if pin.clamps is None else f", clamps={pin.clamps!r}"
