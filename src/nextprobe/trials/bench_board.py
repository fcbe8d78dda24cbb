"""The boards on a simulated bench, and what a meter shows on them."""

from __future__ import annotations

from collections.abc import Mapping
from zlib import crc32

import numpy as np

from nextprobe.board import (
    GROUND,
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    Meter,
    MeterMode,
    OverRange,
)
from nextprobe.circuit import NOMINAL, Circuit, live_voltage
from nextprobe.diagnosis.acts import DONOR, PATIENT, Probe
from nextprobe.diagnosis.predicted import Reference
from nextprobe.packs.schema import Pack
from nextprobe.trials.truth import Truth

SLIPS_OVER_RANGE = 0.4
"""Share of slips of the probe that read over-range."""


class BenchBoard:
    """The board of the device and a known-good one beside it.

    Parameters
    ----------
    pack : Pack
    board : Board
    truth : Truth
        How the parts of the patient and the meter differ from nominal.
    references : mapping of (str, MeterMode) to Reference
        Where good boards of this type read: the device is one of them, but for its fault.
    """

    def __init__(
        self,
        pack: Pack,
        board: Board,
        truth: Truth,
        references: Mapping[tuple[str, MeterMode], Reference],
    ) -> None:
        self._pack = pack
        self._board = board
        self._truth = truth
        self._references = references
        self._meter = Meter()
        self._circuits: dict[tuple[str, tuple[Fault, ...], BenchSetup], Circuit] = {}
        self._computed: dict[tuple[str, tuple[Fault, ...], str, BenchSetup], float | OverRange] = {}

    def reading(
        self,
        act: Probe,
        setup: BenchSetup,
        present: tuple[Fault, ...],
        rng: np.random.Generator,
    ) -> float | OverRange:
        """Return what the meter shows, the probe perhaps having slipped.

        Parameters
        ----------
        act : Probe
        setup : BenchSetup
        present : tuple of Fault
            What is wrong with the patient's board now.
        rng : numpy.random.Generator
            Of this touch.
        """
        point = act.point
        slip = self._pack.readings.slip * self._truth.slip + self._truth.slips_more
        if rng.random() < slip:
            if rng.random() < SLIPS_OVER_RANGE:
                return OVER_RANGE
            slid = self._beside(point, rng)
            if slid is None:
                return OVER_RANGE
            point = slid
        faults = present if act.device == PATIENT else ()
        return self._shown(self._true_value(point, act.device, setup, faults), setup, rng)

    def _beside(self, point: str, rng: np.random.Generator) -> str | None:
        """Return some pin of the part that a point belongs to."""
        part = self._board.by_reference.get(point.partition(".")[0])
        if part is None or not part.pins:
            return None
        return f"{part.reference}.{part.pins[int(rng.integers(len(part.pins)))].number}"

    def _shown(
        self, value: float | OverRange, setup: BenchSetup, rng: np.random.Generator
    ) -> float | OverRange:
        if isinstance(value, OverRange):
            return value
        meter = self._meter.range_for(setup.mode)
        noise = rng.uniform(-1.0, 1.0) * meter.counts * meter.resolution
        shown = round((value * self._truth.meter_gain + noise) / meter.resolution)
        shown_value = max(0.0, shown * meter.resolution)
        return OVER_RANGE if shown_value > meter.full_scale else float(shown_value)

    def _true_value(
        self, point: str, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]
    ) -> float | OverRange:
        if setup.mode is MeterMode.DC_VOLTS:
            return self._live(point, device, faulty)
        in_circuit = tuple(fault for fault in faulty if fault.kind.is_electrical)
        found = self._circuit_value(point, device, setup, in_circuit)
        if isinstance(found, OverRange):
            return found
        if setup.mode is not MeterMode.DIODE:
            found *= self._habit(point, device, setup)
        reference = self._references.get((point, setup.mode)) or self._references.get(
            (self._board.net_of(point), setup.mode)
        )
        if reference is None or setup.clamped != GROUND:
            return found
        nominal = self._circuit_value(point, DONOR, BenchSetup(setup.mode), ())
        if isinstance(nominal, OverRange) or isinstance(reference.value, OverRange):
            return found
        return found * reference.value / nominal if nominal > 1e-3 else found

    def _live(self, point: str, device: str, faulty: tuple[Fault, ...]) -> float:
        """Return the voltage of a live rail; one that the pack does not name carries nothing."""
        net = self._board.net_of(point)
        if net not in self._pack.rails:
            return 0.0
        volts = live_voltage(self._board, net, self._pack.rails[net], faulty)
        return volts * self._habit(net, device, BenchSetup(MeterMode.DC_VOLTS))

    def _habit(self, point: str, device: str, setup: BenchSetup) -> float:
        """Return the factor by which this board differs at a measurement, whenever it is made.

        The values of parts differ from board to board: tolerances are those of the pack, and
        half as wide again, since nobody knows them well.
        """
        spread = self._pack.readings.modes.get(setup.mode.value)
        if spread is None:
            return 1.0
        name = f"{device} {setup.mode.value} {setup.clamped} {point} {self._truth.meter_gain!r}"
        own = np.random.default_rng(crc32(name.encode()))
        return float(np.exp(1.5 * spread.between_boards * own.uniform(-1.0, 1.0)))

    def _circuit_value(
        self, point: str, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]
    ) -> float | OverRange:
        """Return what one of the boards on this bench shows by its circuit alone."""
        key = device, faulty, point, setup
        if key not in self._computed:
            self._computed[key] = self._circuit(device, setup, faulty).readings([point])[point]
        return self._computed[key]

    def _circuit(self, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]) -> Circuit:
        """Return the patient's circuit, or a nominal one; building one takes long."""
        key = device, faulty, setup
        if key not in self._circuits:
            meter = self._meter.range_for(setup.mode)
            deviations = self._truth.deviations if device == PATIENT else NOMINAL
            self._circuits[key] = Circuit(self._board, setup, meter, faulty, deviations)
        return self._circuits[key]
