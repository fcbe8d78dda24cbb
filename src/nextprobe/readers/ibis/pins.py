"""Pins and selectors of IBIS files.

ANSI/EIA-656, [Pin] and [Model Selector] (from memory): a pin's line holds its number, the name of
its signal and that of its model, then three or no numbers of the package; POWER, GND and NC stand
in place of a model. A selector's lines hold a model and words about it; the first is the default.
"""

from __future__ import annotations

from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.ibis.content import NOT_A_SIGNAL, IbisPin
from nextprobe.readers.ibis.sections import Section


def read_pins(section: Section, source: str) -> tuple[tuple[IbisPin, ...], list[Finding]]:
    """Return the pins of a component; what stands behind the keyword is a heading."""
    pins: dict[str, IbisPin] = {}
    findings = []
    for line in section.lines:
        where = Where(source, line.number, name=line.words[0][:30])
        if len(line.words) < 3:
            what = "a pin without the name of its signal or of its model"
            findings.append(Finding(what, where, "write pin, signal and model, as in A7 SDA io_18"))
            continue
        number, signal, model = line.words[:3]
        if number in pins:
            what = f"the pin is given twice, first on line {pins[number].line}; that one counts"
            findings.append(Finding(what, where, "keep one of them", Severity.WARNING))
            continue
        word = model.upper()
        model = word if word in NOT_A_SIGNAL else model
        pins[number] = IbisPin(number, signal, model, line.number)
    return tuple(pins.values()), findings


def read_selector(section: Section) -> tuple[str, ...]:
    """Return the models of a selector, the default first."""
    return tuple(line.words[0] for line in section.lines)
