"""Boards on the bench of another world, read by a circuit simulator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from zlib import crc32

from nextprobe.board import ROOM_TEMPERATURE, BenchSetup, Board, Fault, OverRange
from nextprobe.circuit.meter import DRIVEN_MODES
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.packs.schema import Pack
from nextprobe.trials.bench_board import BenchBoard
from nextprobe.trials.independent.deck import MeterOnBoard, Simulator
from nextprobe.trials.independent.netlist import Netlist
from nextprobe.trials.independent.parts import BoardParts, MadeParts
from nextprobe.trials.independent.worlds import MATCHED, World
from nextprobe.trials.truth import Truth


@dataclass(frozen=True)
class BoardType:
    """A type of board in a world: what all boards of the type share.

    Parameters
    ----------
    world : World
    seed : int
        Draws what makers have made of its parts.
    simulator : callable
        Runs a deck.
    """

    world: World
    seed: int
    simulator: Simulator

    def parts(self, pack: Pack, name: str, warmer: float = 0.0) -> BoardParts:
        """Return the parts of one board of the type, by the board's name."""
        made = MadeParts(self.world, pack.readings.model, self.seed)
        own = crc32(f"{self.seed} {name}".encode())
        return BoardParts(self.world, made, own, warmer)


class IndependentBench(BenchBoard):
    """The board of a device and a known-good one beside it, in another world.

    Capacitance and the voltage of live rails are those of the plain simulated bench, since a deck
    at DC says nothing of them.

    Parameters
    ----------
    pack : Pack
    board : Board
    truth : Truth
    kind : BoardType
    seed : int
        Of the device.
    """

    def __init__(self, pack: Pack, board: Board, truth: Truth, kind: BoardType, seed: int) -> None:
        gain = 1.0 + (truth.meter_gain - 1.0) * kind.world.gain / MATCHED.gain
        super().__init__(pack, board, replace(truth, meter_gain=gain), {})
        self._meter = kind.world.meter
        self._kind = kind
        self._parts = {
            device: kind.parts(pack, f"{device} of {seed}", self._warmer(device))
            for device in (PATIENT, "")
        }

    def _warmer(self, device: str) -> float:
        return self._kind.world.warmer if device == PATIENT else 0.0

    def _true_value(
        self, point: str, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]
    ) -> float | OverRange:
        if setup.mode not in DRIVEN_MODES:
            return super()._true_value(point, device, setup, faulty)
        key = device, faulty, point, setup
        if key not in self._computed:
            faults = tuple(fault for fault in faulty if fault.kind.is_electrical)
            parts = self._parts[PATIENT if device == PATIENT else ""]
            bench = MeterOnBoard(
                Netlist(self._board, faults, parts),
                setup,
                self._meter.range_for(setup.mode),
                ROOM_TEMPERATURE + self._warmer(device),
            )
            self._computed[key] = bench.readings([point], self._kind.simulator)[0]
        return self._computed[key]
