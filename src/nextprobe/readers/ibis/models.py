"""Models of IBIS files: kind of pin, references, and the tables of its clamps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.ibis.content import Corners, Model
from nextprobe.readers.ibis.numerals import UnreadableError, corners
from nextprobe.readers.ibis.sections import Section
from nextprobe.readers.ibis.tables import DIRECTION, read_clamp

_NUMBERS = ("voltage_range", "temperature_range", "gnd_clamp_reference", "power_clamp_reference")
READ = frozenset({*_NUMBERS, *DIRECTION, "add_submodel"})
"""Keywords within a model that are read."""

Say = Callable[[Finding], None]


def opened(section: Section, source: str, say: Say) -> Model:
    """Return the model that a [Model] keyword begins."""
    model = Model(section.rest.split()[0], line=section.line)
    for line in section.lines:
        word, *values = (part for part in line.words if part != "=")
        if word.lower() == "model_type" and values:
            model = replace(model, kind=values[0])
        elif word.lower() == "c_comp":
            where = Where(source, line.number, name=f"{model.name}, C_comp")
            model = _with_numbers(model, "c_comp", values, where, say)
    return model


def with_section(model: Model, section: Section, source: str, say: Say) -> Model:
    """Return a model with what one of its keywords says."""
    where = Where(source, section.line, name=f"{model.name}, {section.shown}")
    if section.keyword in _NUMBERS:
        words = [word for line in section.data() for word in line.words]
        return _with_numbers(model, section.keyword, words, where, say)
    if section.keyword == "add_submodel":
        names = tuple(line.words[0] for line in section.lines)
        return replace(model, submodels=(*model.submodels, *names))
    if section.keyword in model.clamps:
        what = "the table is given twice in this model; the first counts"
        say(Finding(what, where, "keep one of them", Severity.WARNING))
        return model
    clamp, findings = read_clamp(section, source)
    for finding in findings:
        say(replace(finding, where=replace(finding.where, name=where.name)))
    return replace(model, clamps={**model.clamps, section.keyword: clamp})


def _with_numbers(model: Model, name: str, words: list[str], where: Where, say: Say) -> Model:
    try:
        found = corners(words)
    except UnreadableError as error:
        remedy = "write typ, min and max, as in 1.8V 1.7V 1.9V"
        say(Finding(f"{error}, so this is left out", where, remedy, Severity.WARNING))
        found = Corners()
    return replace(model, numbers={**model.numbers, name: found})
