"""Readings as lines of text: ``J4.12 0.452`` or ``12=OL``, one a line."""

from __future__ import annotations

import re

from nextprobe.board import MeterMode
from nextprobe.errors import DataError, Finding, Where
from nextprobe.readers import read_pins
from nextprobe.workbench.outcomes import Touch

_LINE = re.compile(r"\s*(?P<pin>[^\s=;]+)\s*(?:=|;|\s)\s*(?P<value>.*\S)\s*")


def touches_in(
    text: str, connector: str, mode: MeterMode, source: str
) -> tuple[list[Touch], tuple[Finding, ...]]:
    """Return the readings in a text, in order, and what is wrong with the rest.

    In diode mode a pinout as people type it will do, names and all.

    Parameters
    ----------
    text : str
    connector : str
        The connector of pins that are written without one.
    mode : MeterMode
        What the meter was set to.
    source : str
        What findings call the text.

    Raises
    ------
    DataError
        If there is no reading in it.
    """
    if mode is MeterMode.DIODE and "=" not in text:
        table, findings = read_pins(text, connector, source)
        touches: list[Touch] = [(r.point, r.good) for r in table.rows if r.good is not None]
    else:
        touches, findings = _plain_lines(text, connector, source)
    if not touches:
        raise DataError(findings or [Finding("there is no reading in it", Where(source), _ADVICE)])
    return touches, findings


_ADVICE = "write a pin and its reading a line, as in: J4.12 0.452"


def _plain_lines(text: str, connector: str, source: str) -> tuple[list[Touch], tuple[Finding, ...]]:
    touches: list[Touch] = []
    findings = []
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.partition("#")[0].strip()
        match = _LINE.fullmatch(line)
        if match is not None:
            pin = match["pin"]
            point = f"{connector}.{pin}" if connector and pin.isdigit() else pin
            touches.append((point, match["value"]))
        elif line:
            findings.append(Finding(f"'{line}' is no reading", Where(source, number), _ADVICE))
    return touches, tuple(findings)
