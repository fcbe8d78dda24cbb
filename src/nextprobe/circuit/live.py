"""A fault table of live rails: what a voltmeter shows on the powered board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import sha256

import numpy as np

from nextprobe.board import GROUND, BenchSetup, Board, Fault, FaultKind, MeterMode, MeterRange
from nextprobe.circuit.assemble import Shifts, alike
from nextprobe.circuit.key import content_key, table_key
from nextprobe.circuit.rails import (
    LEAST_INPUT,
    Feed,
    carried,
    feed_of,
    input_of,
    own_share,
    regulates,
    supply_chain,
)
from nextprobe.circuit.table import FaultTable

LIVE = BenchSetup(MeterMode.DC_VOLTS)
# What hangs on each rail: about 50 mA at 2 V [ohm].
_LOAD = 40.0
_IN_A_CHIP = frozenset({FaultKind.NO_OUTPUT, FaultKind.CHIP_DEAD})


def live_key(
    board: Board, meter_range: MeterRange, rails: Mapping[str, float], faults: Sequence[Fault]
) -> str:
    """Return the hash that tells tables of live rails apart before they are built."""
    key = table_key(board, LIVE, meter_range, faults)
    return sha256(repr((key, sorted(rails.items()))).encode()).hexdigest()


def live_table(
    board: Board, meter_range: MeterRange, rails: Mapping[str, float], faults: Sequence[Fault]
) -> FaultTable:
    """Return the voltage of each rail under each fault alone.

    Parameters
    ----------
    board : Board
    meter_range : MeterRange
        Of direct voltage.
    rails : mapping of str to float
        Nominal voltage of each rail [V].
    faults : sequence of Fault
        Those that can not reach a rail's supply leave it alone; chips without output count.

    Raises
    ------
    MisuseError
        If a rail or the place of an electrical fault is not on the board.
    """
    chains = _Chains(board)
    healthy = np.array([volts * chains.share(rail, None) for rail, volts in rails.items()])
    shifts = Shifts(MeterMode.DC_VOLTS, healthy, np.zeros(len(rails), dtype=np.bool_))
    for row, (rail, volts) in enumerate(rails.items()):
        for column, fault in enumerate(faults):
            if chains.reached(rail, fault):
                shifts.add([row], [column], volts * chains.share(rail, fault), False)
    moved, changes = shifts.matrices(len(faults))
    return FaultTable(
        points=tuple(rails),
        faults=tuple(faults),
        classes=alike(tuple(faults), moved, changes),
        healthy_values=shifts.values,
        healthy_over_range=shifts.over,
        shifts=moved,
        over_range_changes=changes,
        sensitivities=np.zeros((len(rails), 0)),
        parameters=(),
        key=content_key(board, LIVE, meter_range),
    )


class _Chains:
    """Shares of rails on their supply, link after link, each computed once.

    Every rail carries a load of the same size, so that what feeds several is solved only once.
    """

    def __init__(self, board: Board) -> None:
        self._board = board
        self._feeds: dict[str, Feed] = {}
        self._whole: dict[str, tuple[frozenset[str], frozenset[str]]] = {}
        self._own: dict[str, frozenset[str]] = {}
        self._alone: dict[tuple[str, Fault | None], float] = {}
        self._shares: dict[tuple[str, Fault | None, frozenset[str]], float] = {}

    def reached(self, rail: str, fault: Fault) -> bool:
        """Tell whether a fault sits anywhere on the supply of a rail."""
        if rail not in self._whole:
            self._whole[rail] = supply_chain(self._board, rail)
        return _reaches(self._board, fault, *self._whole[rail])

    def share(self, rail: str, fault: Fault | None, below: frozenset[str] = frozenset()) -> float:
        """Return the share of its nominal voltage that a rail has [1]."""
        here = fault if fault is not None and self.reached(rail, fault) else None
        key = rail, here, below
        if key not in self._shares:
            self._shares[key] = self._computed(rail, here, below)
        return self._shares[key]

    def _computed(self, rail: str, fault: Fault | None, below: frozenset[str]) -> float:
        board = self._board
        feed = self._feeds.setdefault(rail, feed_of(board, rail))
        faults = () if fault is None else (fault,)
        if not regulates(board, feed, faults):
            return 0.0
        entry = input_of(board, feed)
        fed = entry is None or entry in below
        if not fed and self.share(str(entry), fault, below | {rail, str(entry)}) < LEAST_INPUT:
            return 0.0
        if faults and not self._at_home(rail, feed, faults[0]):
            return self.share(rail, None, below)
        own = rail, (faults[0] if faults else None)
        if own not in self._alone:
            self._alone[own] = own_share(board, rail, faults, feed, _LOAD)
        return self._alone[own]

    def _at_home(self, rail: str, feed: Feed, fault: Fault) -> bool:
        """Tell whether a fault sits on the rail itself, and not further up."""
        if rail not in self._own:
            self._own[rail] = frozenset({*carried(self._board, rail), feed.net}) - {GROUND}
        return fault.kind.is_electrical and bool(nets_of(self._board, fault) & self._own[rail])


def _reaches(board: Board, fault: Fault, nets: frozenset[str], chips: frozenset[str]) -> bool:
    """Tell whether a fault sits on a rail's supply."""
    if fault.kind in _IN_A_CHIP:
        return fault.place in chips
    return fault.kind.is_electrical and bool(nets_of(board, fault) & nets)


def nets_of(board: Board, fault: Fault) -> frozenset[str]:
    """Return the nets that an electrical fault touches."""
    found: set[str] = set()
    for end in fault.place.rpartition("/")[2].split("~"):
        if end in board.by_reference:
            found.update(pin.net for pin in board.part(end).pins)
        else:
            found.add(board.net_of(end))
    return frozenset(found)
