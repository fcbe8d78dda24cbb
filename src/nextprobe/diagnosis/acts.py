"""The acts of a job: the smallest things that are done, with what came of them.

An :class:`Act` changes what is fitted, refreshed or repaired, or asks the device something. A
:class:`Move` is an act with its result: what is written into the log of a job and what a
simulated bench answers.
"""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.board import GROUND, MeterMode, Reading

ORIGINAL = "original"
DONOR = "donor"
SECOND = "second donor"
NEW = "new"

WORKS = "works"
FAILS = "fails"
FINISHED = "finished"
FAILED = "failed"
NOTHING = "nothing"
DONE = "done"

PATIENT = "patient"


@dataclass(frozen=True)
class Fit:
    """Fit `instance` (``original``, ``donor``, ``new``) into the slot of module `slot`."""

    slot: str
    instance: str


@dataclass(frozen=True)
class Refresh:
    """Run a firmware update or restore with whatever is fitted."""

    name: str


@dataclass(frozen=True)
class Work:
    """Do a kind of work at a place; both are names in the pack and on the board."""

    name: str
    place: str


@dataclass(frozen=True)
class Check:
    """See whether a function works, `times` times over: it works if it works each time.

    Where a check is `confirmed`, a failure is looked at once more at once, and counts only if it
    comes again.
    """

    function: str
    times: int = 1
    confirmed: bool = False


@dataclass(frozen=True)
class Look:
    """Look, or read a log or a self-test."""

    name: str


@dataclass(frozen=True)
class Probe:
    """Touch a point with the meter; `device` is the patient or a known-good board.

    The meter stands in `mode`, and its other lead is clamped to the pin or net `clamped`.
    """

    point: str
    device: str = PATIENT
    mode: MeterMode = MeterMode.DIODE
    clamped: str = GROUND


@dataclass(frozen=True)
class Gauge:
    """Read the current that the device draws from a bench supply, before or after the key."""

    stage: str


Act = Fit | Refresh | Work | Check | Look | Probe | Gauge


@dataclass(frozen=True)
class Move:
    """An act and what came of it.

    Parameters
    ----------
    act : Act
        What was done.
    result : str
        ``works`` or ``fails``; ``finished`` or ``failed``; what was seen; ``done``; a supply
        current as a number [A]. Empty for a reading.
    reading : Reading or None
        For a probe.
    code : str
        Error code of a refresh that failed.
    """

    act: Act
    result: str = DONE
    reading: Reading | None = None
    code: str = ""
