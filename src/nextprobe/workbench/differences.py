"""The patient against boards that work, worst first, with what each difference suggests."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from nextprobe.board import Board, MeterMode, OverRange, Reading, Role, say_value
from nextprobe.board.meter import MeterRange
from nextprobe.diagnosis import Case, Move, Probe
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.reference import Difference, DifferenceKind, compare

DONOR_SOURCE = "donor board in this job"
# Spread between good boards in modes for which the pack gives none, as a share of the reading:
# common practice, no published source.
_RELATIVE_SPREAD = 0.05
_COVERAGE = 2.0
"""Expanded uncertainty of a difference, about 95 % (JCGM 100:2008, 6.3.3)."""

_SUGGESTS: Mapping[DifferenceKind, str] = {
    DifferenceKind.ALIKE: "no difference that two good boards would not show",
    DifferenceKind.LOWER: "lower than good: a leak or a short to ground or to a rail, often a "
    "protection part or a capacitor on this net, or residue",
    DifferenceKind.HIGHER: "higher than good: something that should conduct is missing, as in an "
    "open branch, a cracked joint or a part that is gone",
    DifferenceKind.SHORTED_HERE: "next to nothing: a short, most often one capacitor or protection "
    "part on this net, or a bridge to ground",
    DifferenceKind.OPEN_HERE: "over-range where a good board conducts: the line is open, at a "
    "joint, a ferrite, a series part or a contact of the connector",
    DifferenceKind.CONDUCTS_HERE: "conducts where a good board is over-range: a leak, a bridge to "
    "a neighbour, or residue",
}


@dataclass(frozen=True)
class DifferenceRecord:
    """One point on the patient and on a board that works.

    Parameters
    ----------
    point : str
    mode : MeterMode
    patient, good : float or OverRange
        What they read [V, ohm or F].
    score : float
        Difference in standard deviations of what two good boards differ by.
    kind : DifferenceKind
    source : str
        Where the good reading comes from.
    role : Role
        What the net is for, as far as it is known.
    suggests : str
        In a sentence.
    amount : str
        How much it differs, in words.
    """

    point: str
    mode: MeterMode
    patient: float | OverRange
    good: float | OverRange
    score: float
    kind: DifferenceKind
    source: str
    role: Role
    suggests: str
    amount: str = ""


def differences(
    case: Case, moves: Sequence[Move], most: int | None = None
) -> tuple[DifferenceRecord, ...]:
    """Compare the patient's last readings with those of boards that work, worst first.

    A donor that was measured in this job goes before known-good readings of the pack. Needs no
    board.

    Parameters
    ----------
    case : Case
    moves : sequence of Move
        Everything that was done, live voltages included.
    most : int or None
        How many at most.
    """
    found = [item for mode in MeterMode for item in _in_mode(case, moves, mode)]
    return tuple(sorted(found, key=lambda item: -abs(item.score))[:most])


def _in_mode(case: Case, moves: Sequence[Move], mode: MeterMode) -> Iterator[DifferenceRecord]:
    patient = _last(moves, mode, patient=True)
    good = _good(case, mode, patient, _last(moves, mode, patient=False))
    meter = case.brief.meter.range_for(mode)
    for point, (value, source) in good.items():
        [difference] = compare(
            {point: patient[point]},
            {point: value},
            _spread(case, mode, value, patient[point]),
            meter.standard_uncertainty,
            limit=meter.full_scale,
        )
        amount = _amount(difference, meter, mode)
        yield _described(case.brief.board, difference, mode, source, amount)


def _last(moves: Sequence[Move], mode: MeterMode, *, patient: bool) -> dict[str, float | OverRange]:
    """Return the last reading of each point."""
    return {reading.point: reading.value for reading in _readings(moves, mode, patient)}


def _readings(moves: Sequence[Move], mode: MeterMode, patient: bool) -> Iterator[Reading]:
    for move in moves:
        own = isinstance(move.act, Probe) and (move.act.device == PATIENT) is patient
        if own and move.reading is not None and move.reading.setup.mode is mode:
            yield move.reading


def _good(
    case: Case,
    mode: MeterMode,
    points: Mapping[str, float | OverRange],
    donor: Mapping[str, float | OverRange],
) -> dict[str, tuple[float | OverRange, str]]:
    found = {}
    for point in points:
        reference = case.brief.references.get((point, mode))
        if point in donor:
            found[point] = (donor[point], DONOR_SOURCE)
        elif reference is not None:
            found[point] = (reference.value, reference.source)
    return found


def _spread(case: Case, mode: MeterMode, *values: float | OverRange) -> float:
    if mode is MeterMode.DIODE:
        return case.model.pack.readings.between_boards
    numbers = [abs(value) for value in values if not isinstance(value, OverRange)]
    floor = case.brief.meter.range_for(mode).resolution
    return max([floor, *(_RELATIVE_SPREAD * number for number in numbers)])


def _described(
    board: Board | None, difference: Difference, mode: MeterMode, source: str, amount: str
) -> DifferenceRecord:
    known = board is not None and board.has_point(difference.point)
    role = board.role(board.net_of(difference.point)) if board and known else Role.UNKNOWN
    return DifferenceRecord(
        difference.point,
        mode,
        difference.patient,
        difference.donor,
        difference.score,
        difference.kind,
        source,
        role,
        _suggestion(difference.kind, role),
        amount,
    )


def _amount(difference: Difference, meter: MeterRange, mode: MeterMode) -> str:
    """Return how much the boards differ in words: a score near nothing would say nothing."""
    here, there = difference.patient, difference.donor
    if isinstance(here, OverRange) and isinstance(there, OverRange):
        return "both over-range"
    if isinstance(here, OverRange) or isinstance(there, OverRange):
        return f"at least {abs(difference.score):.0f} times what good boards usually differ by"
    error = _COVERAGE * math.hypot(*map(meter.standard_uncertainty, (here, there)))
    if abs(here - there) <= error:
        return f"the same within the meter's error of {say_value(error, mode)}"
    if difference.kind is DifferenceKind.ALIKE:
        return "no more than good boards differ by"
    return f"{abs(difference.score):.0f} times what good boards usually differ by"


def _suggestion(kind: DifferenceKind, role: Role) -> str:
    words = _SUGGESTS[kind]
    if kind is DifferenceKind.SHORTED_HERE and role is Role.CORE_RAIL:
        return f"{words}; core rails read a few tens of millivolts when healthy: use low ohms"
    if kind is DifferenceKind.HIGHER and role.is_supply:
        return f"{words}; on a rail also a load that is not connected"
    return words
