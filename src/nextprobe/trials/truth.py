"""What is really wrong with a simulated device, and how it differs from what is assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nextprobe.board import Board, Fault, PartKind
from nextprobe.circuit import NOMINAL, Deviations
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.packs.schema import Function, Pack

_LARGEST_STEP = 1.8


@dataclass(frozen=True)
class Hidden:
    """One fault that is really there.

    Parameters
    ----------
    candidate : Candidate
        The fault as the list of candidates has it, magnitude on the grid.
    fault : Fault
        The fault as it really is, magnitude off the grid.
    shows : mapping of str to float
        Function to how often a check of it fails while the fault is there: 0, 1 or a duty.
    """

    candidate: Candidate
    fault: Fault
    shows: Mapping[str, float]


@dataclass(frozen=True)
class Truth:
    """A hidden state of a device; nothing here is known to the inference.

    Parameters
    ----------
    hidden : tuple of Hidden
        All faults that are there from the start, at least one.
    false_pass, false_fail : float
        Factors on the error chances of checks that the pack assumes.
    success : float
        Factor on the chance that work fails.
    slip : float
        Factor on the chance that a probe slips.
    deviations : Deviations
        How the parts of this board differ from nominal.
    meter_gain : float
        Relative error of the meter, the same for all readings.
    slips_more : float
        What is added to the chance that a probe slips.
    """

    hidden: tuple[Hidden, ...]
    false_pass: float = 1.0
    false_fail: float = 1.0
    success: float = 1.0
    slip: float = 1.0
    deviations: Deviations = NOMINAL
    meter_gain: float = 1.0
    slips_more: float = 0.0


def draw_truth(
    pack: Pack,
    board: Board | None,
    complaint: str,
    candidate: Candidate,
    rng: np.random.Generator,
    *,
    steady: bool = False,
    also: Sequence[Candidate] = (),
) -> Truth:
    """Draw a device with the given faults, with habits wider than the inference assumes.

    Parameters
    ----------
    complaint : str
        The function that the customer saw fail, so every fault shows itself there.
    candidate : Candidate
        What is wrong.
    rng : numpy.random.Generator
        Source of chance.
    steady : bool
        Whether the faults are there all the time rather than perhaps coming and going.
    also : sequence of Candidate
        What else is wrong.
    """
    first = _hidden(pack, complaint, candidate, rng, steady)
    truth = Truth(
        (first,),
        false_pass=_wide(rng),
        false_fail=_wide(rng),
        success=_wide(rng),
        slip=_wide(rng),
        deviations=draw_deviations(board, rng),
        meter_gain=float(1.0 + rng.uniform(-0.008, 0.008)),
    )
    others = [_hidden(pack, complaint, item, rng, steady) for item in also]
    return replace(truth, hidden=(first, *others))


def _hidden(
    pack: Pack, complaint: str, candidate: Candidate, rng: np.random.Generator, steady: bool
) -> Hidden:
    fault = _off_the_grid(candidate.fault, rng)
    shows = {
        name: _duty(function, 1.0 if name == complaint else candidate.stops[name], rng, steady)
        for name, function in pack.functions.items()
    }
    return Hidden(candidate, fault, shows)


def _wide(rng: np.random.Generator) -> float:
    """Return a factor between a half and two."""
    return float(2.0 ** rng.uniform(-1.0, 1.0))


def _off_the_grid(fault: Fault, rng: np.random.Generator) -> Fault:
    if fault.magnitude is None:
        return fault
    factor = _LARGEST_STEP ** rng.uniform(-1.0, 1.0)
    return Fault(fault.kind, fault.place, float(fault.magnitude * factor))


def _duty(function: Function, stops: float, rng: np.random.Generator, steady: bool) -> float:
    """Draw how often a check of a function fails while the fault is there."""
    if rng.random() >= stops:
        return 0.0
    if steady or rng.random() >= function.intermittent * _wide(rng):
        return 1.0
    return float(np.clip(function.duty * _wide(rng), 0.05, 0.95))


def _clamps(board: Board) -> list[str]:
    """Return the names of the junctions of every chip, by role so that siblings share one."""
    names = [f"Rs:{part.reference}" for part in board.parts]
    for part in board.parts:
        if part.kind is PartKind.CHIP:
            roles = {board.role(pin.net).value for pin in part.pins}
            for role in sorted(roles):
                name = f"Is:{part.reference}:{role}"
                names += [name, f"{name}:upper"]
            names.append(f"Is:{part.reference}:supply")
    return names


def draw_deviations(
    board: Board | None, rng: np.random.Generator, spread: float = 0.25
) -> Deviations:
    """Draw how the parts of one board differ from nominal.

    Parameters
    ----------
    spread : float
        Standard deviation of ln(saturation current) from board to board [1]; 0.25 is about
        10 mV, and Student-t tails with 4 degrees of freedom make some boards much odder.
    """
    if board is None:
        return NOMINAL
    names = _clamps(board)
    drawn = spread * rng.standard_t(4, size=len(names)) / np.sqrt(2.0)
    return Deviations({n: float(d) for n, d in zip(names, drawn, strict=True)})
