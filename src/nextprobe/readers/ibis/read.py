"""From the text of an IBIS file to its components, pins and models, with findings."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path

from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.board_file import read_large_text
from nextprobe.readers.ibis.content import NOT_A_SIGNAL, Component, IbisFile, Model
from nextprobe.readers.ibis.models import READ, opened, with_section
from nextprobe.readers.ibis.pins import read_pins, read_selector
from nextprobe.readers.ibis.sections import Section, sections_of

_NEWEST = 5
# Keywords that begin something else, in which clamp tables are not those of a model.
_ELSEWHERE = ("submodel", "external_circuit", "define_package_model", "test_data", "test_load")
_OWN = frozenset({*READ, "ibis_ver", "component", "manufacturer", "pin", "model", "model_selector"})
# What looks much like one of these and is another.
_ALIKE = frozenset(
    {"pin_mapping", "pin_numbers", "model_spec", "model_data", "pullup_reference", "diff_pin",
     "pulldown_reference", "submodel", "submodel_spec", "package_model", "external_model",
     "external_reference", "gnd_pulse_table", "power_pulse_table", "component_description"}
)  # fmt: skip

Result = tuple[IbisFile | None, tuple[Finding, ...]]


def read_ibis_file(path: Path | str) -> Result:
    """Read a file; bytes that are no UTF-8 are read as Latin-1. See :func:`read_ibis`."""
    file = Path(path)
    text, found = read_large_text(file)
    if text is None:
        return None, found
    # Letters matter only in remarks: what is read here is ASCII.
    return read_ibis(text, file.name)


def read_ibis(text: str, source: str = "IBIS file") -> Result:
    """Read components, pins, models and clamp tables.

    Parameters
    ----------
    text : str
        Any text; lines may be of any length.
    source : str
        What findings call it.

    Returns
    -------
    (IbisFile or None, tuple of Finding)
        None if the text has neither a component nor a model. Each finding has a line and a
        remedy.
    """
    sections = sections_of(text, source, _OWN)
    work = _Work(source)
    work.findings.extend(sections.findings)
    for section in sections.items:
        work.take(section)
    found = work.file()
    if not found.components and not found.models:
        what = "there is no [Component] and no [Model] in it"
        return None, (*work.findings, Finding(what, Where(source, 1), "choose an IBIS file (.ibs)"))
    if not sections.ended:
        last = text.count("\n") + 1
        what = "there is no [End], so the file may have been cut off"
        work.say(Finding(what, Where(source, last), "fetch it again", Severity.WARNING))
    work.check_version()
    work.check_pins(found)
    return found, tuple(work.findings)


@dataclass
class _Work:
    """What has been read so far, and where the reader stands."""

    source: str
    version: str = ""
    version_line: int = 1
    components: list[Component] = field(default_factory=list)
    models: dict[str, Model] = field(default_factory=dict)
    selectors: dict[str, tuple[str, ...]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    current: str | None = None
    scope: str = ""

    def say(self, finding: Finding) -> None:
        self.findings.append(finding)

    def _warn(self, what: str, section: Section, remedy: str) -> None:
        where = Where(self.source, section.line, name=section.shown)
        self.say(Finding(what, where, remedy, Severity.WARNING))

    def take(self, section: Section) -> None:
        """Take one keyword."""
        keyword = section.keyword
        if keyword == "ibis_ver":
            self.version, self.version_line = (
                section.rest.split()[0] if section.rest else "",
                section.line,
            )
        elif keyword in ("component", "model", "model_selector"):
            self.scope, self.current = keyword, None
            self._begin(section)
        elif keyword in _ELSEWHERE:
            self.scope, self.current = keyword, None
        elif self.scope == "component" and keyword in ("manufacturer", "pin"):
            self._within_component(section)
        elif keyword in READ and self.scope in ("", "component", "model", "model_selector"):
            self._within_model(section)
        else:
            self._check_keyword(section)

    def _begin(self, section: Section) -> None:
        name = section.rest
        if not name:
            self._warn("a name is missing here, so this is left out", section, "add its name")
            self.scope = "nameless"
        elif section.keyword == "component":
            self.components.append(Component(name, "", (), section.line))
        elif section.keyword == "model":
            self._begin_model(section)
        elif section.rest.split()[0] in self.selectors:
            self._warn("the selector is given twice; the first counts", section, "keep one of them")
        else:
            self.selectors[section.rest.split()[0]] = read_selector(section)

    def _begin_model(self, section: Section) -> None:
        model = opened(section, self.source, self.say)
        if model.name in self.models:
            first = self.models[model.name].line
            what = f"the model is given twice, first on line {first}; that one counts"
            self._warn(what, section, "keep one of them")
            self.scope = "repeated"
            return
        self.models[model.name] = model
        self.current = model.name

    def _within_component(self, section: Section) -> None:
        last = self.components[-1]
        if section.keyword == "manufacturer":
            self.components[-1] = replace(last, manufacturer=section.rest)
            return
        if last.pins:
            self._warn("pins are given twice; the first count", section, "keep one of the lists")
            return
        pins, wrong = read_pins(section, self.source)
        self.components[-1] = replace(last, pins=pins)
        self.findings.extend(wrong)

    def _within_model(self, section: Section) -> None:
        if self.current is None:
            self._warn("this belongs to no [Model], so it is left out", section, "put it below one")
            return
        model = self.models[self.current]
        self.models[self.current] = with_section(model, section, self.source, self.say)

    def _check_keyword(self, section: Section) -> None:
        close = get_close_matches(section.keyword, _OWN, n=1, cutoff=0.85)
        if close and section.keyword not in _OWN | _ALIKE:
            remedy = f"did you mean [{close[0].replace('_', ' ')}]?"
            self._warn("no keyword of this name is known, so it is left out", section, remedy)

    def file(self) -> IbisFile:
        """Return all that has been read."""
        return IbisFile(self.version, tuple(self.components), self.models, self.selectors)

    def check_version(self) -> None:
        """Say where the version is not one that was written for."""
        where = Where(self.source, self.version_line, name="[IBIS Ver]")
        number = re.match(r"\d{1,3}", self.version)
        if number is None:
            what = (
                f"the version '{self.version[:20]}' is no number" if self.version else "no version"
            )
            remedy = "its tables are read as those of version 5; add it, as in [IBIS Ver] 4.2"
            self.say(Finding(what, where, remedy, Severity.WARNING))
        elif int(number[0]) > _NEWEST:
            what = f"version {self.version} is newer than what was written for"
            remedy = "its clamp tables are read as those of version 5: compare one with the file"
            self.say(Finding(what, where, remedy, Severity.WARNING))

    def check_pins(self, file: IbisFile) -> None:
        """Say which models pins and selectors name that the file does not have."""
        missing: dict[str, list[int]] = {}
        for component in file.components:
            if not component.pins:
                where = Where(self.source, component.line, name=component.name)
                self.say(Finding("the component has no pins", where, "look for its [Pin]"))
            for pin in component.pins:
                if pin.model not in NOT_A_SIGNAL and file.model_of(pin) is None:
                    missing.setdefault(pin.model, []).append(pin.line)
        for name, lines in missing.items():
            pins = "one pin is" if len(lines) == 1 else f"{len(lines)} pins are"
            what = f"{pins} of the model {name}, which the file does not have"
            where = Where(self.source, lines[0], name=name)
            self.say(Finding(what, where, "these pins stay at the usual values", Severity.WARNING))
