"""Live rails, plainly: a rail is up when its source is, nothing pulls it down, and it is joined.

A source with a limited current holds one net at its voltage; ferrites, coils and resistors carry
it on; what is shorted or leaky pulls on it. Clamps do not conduct on a powered board. Which net
is the source and which chip feeds it is read from the board by rules of common practice (no
published source) unless the caller knows better.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.board import GROUND, Board, Fault, FaultKind, Part, PartKind
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.capacitance import numbering
from nextprobe.circuit.cells import branches_of, bridge_branches, cells_of
from nextprobe.circuit.conditions import conditions_of
from nextprobe.circuit.site import Site
from nextprobe.errors import MisuseError

SOURCE_OHMS = 1e-3
LEAST_LOAD = 1.0
"""Resistance below which a source reaches its current limit [ohm]: about one ampere per volt."""
LEAST_INPUT = 0.5
"""Share of its nominal input below which a regulator gives nothing [1]."""
LOAD_CURRENT = 0.05
"""What a sound rail's load draws at its nominal voltage [A]."""
_CARRIERS = frozenset({PartKind.FERRITE, PartKind.INDUCTOR})
_LEAST_CONDUCTANCE = 1e-9


@dataclass(frozen=True)
class Feed:
    """Where a rail gets its voltage: a net, and the chip that drives it if one does."""

    net: str
    regulator: str | None = None


def feed_of(board: Board, rail: str) -> Feed:
    """Return where `rail` most likely gets its voltage.

    Of the nets that ferrites and coils join to it, a coil's switching node counts first, then
    the net with most chip pins. The regulator is the chip on the switching node, or the smallest
    chip of which that net is not the input (its first supply pin).

    Raises
    ------
    MisuseError
        If the board has no such net.
    """
    if rail not in board.nets:
        raise MisuseError(f"{board.name} has no net {rail}")
    nets = carried(board, rail)
    nodes = [net for net in nets if not board.role(net).is_supply and _chips(board, net)]
    source = nodes[0] if nodes else max(nets, key=lambda net: len(_chips(board, net)))
    makers = [chip for chip in _chips(board, source) if source != _input(board, chip)]
    smallest = min(makers, key=lambda chip: len(chip.pins), default=None)
    return Feed(source, smallest.reference if smallest else None)


def carried(board: Board, rail: str) -> list[str]:
    """Return the nets that ferrites and coils join to `rail`, itself first."""
    found = [rail]
    for net in found:
        for part, _ in board.parts_on(net):
            if part.kind in _CARRIERS:
                found += [pin.net for pin in part.pins if pin.net not in (*found, GROUND)]
    return found


def _chips(board: Board, net: str) -> list[Part]:
    return [part for part, _ in board.parts_on(net) if part.kind is PartKind.CHIP]


def _input(board: Board, chip: Part) -> str | None:
    return next((pin.net for pin in chip.pins if board.role(pin.net).is_supply), None)


def live_voltage(
    board: Board,
    rail: str,
    nominal: float,
    fault: Fault | Sequence[Fault] | None = None,
    *,
    feed: Feed | None = None,
    load_current: float = LOAD_CURRENT,
) -> float:
    """Return the voltage of a rail on the powered board [V].

    Parameters
    ----------
    board : Board
        Whose rail it is.
    rail : str
        Its net.
    nominal : float
        Voltage that its source makes [V].
    fault : Fault or sequence of Fault, optional
        What is wrong.
    feed : Feed, optional
        Where the rail gets its voltage; `feed_of` by default.
    load_current : float
        What hangs on the rail draws at nominal voltage [A]: a bead of 5 ohm that hides from a
        diode reading shows here.

    Raises
    ------
    MisuseError
        If the net or a fault's place is not on the board, or a number is not positive.
    """
    if nominal <= 0 or load_current <= 0:
        raise MisuseError("nominal voltage and load current must be positive")
    faults = [fault] if isinstance(fault, Fault) else list(fault or ())
    return nominal * _held(
        board, rail, faults, feed or feed_of(board, rail), nominal / load_current
    )


def _held(
    board: Board,
    rail: str,
    faults: Sequence[Fault],
    feed: Feed,
    load: float,
    *,
    below: frozenset[str] = frozenset(),
) -> float:
    """Return the share of its nominal voltage that a rail has [1], its supply chain included.

    `below` are the rails that hang on this one, so that two that feed each other end somewhere.
    """
    if not regulates(board, feed, faults):
        return 0.0
    entry = input_of(board, feed)
    if entry is not None and entry not in below:
        source = feed_of(board, entry)
        upstream = _held(board, entry, faults, source, load, below=below | {rail, entry})
        if upstream < LEAST_INPUT:
            return 0.0
    return own_share(board, rail, faults, feed, load)


def input_of(board: Board, feed: Feed) -> str | None:
    """Return the net that the regulator of a feed takes its power from, if there is one."""
    return None if feed.regulator is None else _input(board, board.part(feed.regulator))


def own_share(board: Board, rail: str, faults: Sequence[Fault], feed: Feed, load: float) -> float:
    """Return the share of its nominal voltage that a rail has [1] while its source is sound.

    Parameters
    ----------
    load : float
        Resistance of what hangs on the rail [ohm].
    """
    site = Site(board, conditions_of(board, faults))
    wires = [each for each in _pulling(site, rail) if not each.saturation]
    wires += [
        Branch("load", rail, GROUND, load),
        Branch("source", "live source", feed.net, SOURCE_OHMS),
    ]
    return _share(wires, rail)


def _pulling(site: Site, rail: str) -> list[Branch]:
    """Return the branches of the parts on a rail and on what ferrites and coils join to it.

    Only these can hold it down; what lies behind a resistor hardly draws on a live rail.
    """
    nets = carried(site.board, rail)
    parts = {part.reference: part for net in nets for part, _ in site.board.parts_on(net)}
    fitted = [part for part in site.board.fitted if part.reference in parts]
    cells = [
        cell
        for part in fitted
        for cell in cells_of(site, part)
        if cell.number is None or part.pin(cell.number).net in nets
    ]
    return [each for cell in cells for each in branches_of(site, cell)] + bridge_branches(site)


def supply_chain(board: Board, rail: str) -> tuple[frozenset[str], frozenset[str]]:
    """Return the nets that carry a rail's supply, and the chips that make it, source first.

    Raises
    ------
    MisuseError
        If the board has no such net.
    """
    nets: set[str] = set()
    chips: set[str] = set()
    here: str | None = rail
    while here is not None and here not in nets:
        feed = feed_of(board, here)
        nets.update(carried(board, here), (feed.net,))
        here = None
        if feed.regulator is not None and feed.regulator not in chips:
            chips.add(feed.regulator)
            here = input_of(board, feed)
    return frozenset(nets - {GROUND}), frozenset(chips)


def regulates(board: Board, feed: Feed, faults: Iterable[Fault]) -> bool:
    """Whether the regulator of a feed works, its joints to input and output included."""
    if feed.regulator is None:
        return True
    chip = board.part(feed.regulator)
    faults = list(faults)
    if any(
        fault.place == chip.reference and fault.kind in (FaultKind.NO_OUTPUT, FaultKind.CHIP_DEAD)
        for fault in faults
    ):
        return False
    conditions = conditions_of(board, faults)

    def joined(net: str | None) -> bool:
        names = [f"{chip.reference}.{pin.number}" for pin in chip.pins if pin.net == net]
        open_joint = FaultKind.JOINT_OPEN
        return not names or not all(conditions.has(open_joint, name) for name in names)

    return joined(feed.net) and joined(_input(board, chip))


def _share(wires: Sequence[Branch], rail: str) -> float:
    """Return the rail's voltage as a share of the source's, the current limit included."""
    names = {node for wire in wires for node in (wire.start, wire.end)} | {GROUND, rail}
    numbers = numbering(names, GROUND)
    size = len(numbers) - 1
    laplacian = np.zeros((size + 1, size + 1))
    for wire in wires:
        a, b = numbers[wire.start], numbers[wire.end]
        laplacian[[a, b, a, b], [a, b, b, a]] += np.array([1, 1, -1, -1]) / wire.ohms
    source = numbers["live source"]
    matrix = laplacian[:size, :size] + _LEAST_CONDUCTANCE * np.eye(size)
    unit = np.zeros(size)
    unit[source] = 1.0
    volts = np.append(np.linalg.solve(matrix, unit), 0.0)
    limited = min(1.0, float(volts[source]) / LEAST_LOAD)
    return float(volts[numbers[rail]] / volts[source]) * limited
