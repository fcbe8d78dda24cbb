"""Stable ids of steps: words without blanks, the same in every state of a job."""

from __future__ import annotations

from collections.abc import Iterable

from nextprobe.board import GROUND, MeterMode
from nextprobe.errors import UnknownStepError

PROBE = "probe"
MODE_WORDS = {MeterMode.DC_VOLTS: "volts"}
"""Meter modes that an id calls by another word than their own."""


def slug(name: str) -> str:
    """Return a name as it stands in an id."""
    return name.replace(" ", "-")


def named(names: Iterable[str], word: str) -> str:
    """Return the name whose slug is `word`; raises UnknownStepError if there is none."""
    for name in names:
        if slug(name) == word:
            return name
    raise UnknownStepError(f"there is nothing called '{word}' here")


def mode_word(mode: MeterMode) -> str:
    """Return a meter mode as it stands in an id."""
    return MODE_WORDS.get(mode, slug(mode.value))


def reading_id(point: str, mode: MeterMode, clamped: str = GROUND) -> str:
    """Return the id of a single reading.

    ``probe:J4.12`` is a diode reading to ground, ``probe:J4.14:ohms`` one in another mode,
    ``probe:J4.21~C407.1:continuity`` one between two pins; across the two pins of one part it is
    ``probe:C401:capacitance``.
    """
    place = point if clamped == GROUND else between(point, clamped)
    return f"{PROBE}:{place}" if mode is MeterMode.DIODE else f"{PROBE}:{place}:{mode_word(mode)}"


def between(point: str, clamped: str) -> str:
    """Return the words for two points that the leads are on; contacts 2 and 1 are a part's ends."""
    reference, _, contact = point.partition(".")
    across = contact == "2" and clamped == f"{reference}.1"
    return reference if across else f"{point}~{clamped}"


def place_and_mode(name: str) -> tuple[str, MeterMode]:
    """Return the place and the meter mode that the id of a single reading names."""
    place = name.removeprefix(f"{PROBE}:")
    head, _, last = place.rpartition(":")
    modes = {mode_word(mode): mode for mode in MeterMode}
    return (head, modes[last]) if head and last in modes else (place, MeterMode.DIODE)
