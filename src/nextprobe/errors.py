"""Findings about data and the one exception tree for misuse.

Bad data is *returned* as a :class:`Finding`; misuse of the program *raises*::

    NextprobeError
    ├── MisuseError             a call or command that makes no sense as given
    │   ├── SettingError        a measurement setting out of its range
    │   ├── UnknownStepError    a step id that this job does not have
    │   └── RepeatedKeyError    a client's key that stands for another entry already
    ├── DataError               data so bad that nothing can be done; carries findings
    ├── SolverError             the circuit could not be solved
    └── StoreError              the job store can not be used
        ├── StoreLockedError    another process holds it
        ├── StoreConflictError  somebody else wrote that event or that job first
        └── StoreDamagedError   its chain of hashes or its file is broken
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True)
class Where:
    """The place in somebody's data that a finding speaks of.

    Parameters
    ----------
    source : str
        File name or a word for where the text came from.
    line, column : int or None
        Counted from 1.
    name : str or None
        The field, part or net that is meant.
    """

    source: str = ""
    line: int | None = None
    column: int | None = None
    name: str | None = None

    def __str__(self) -> str:
        spot = [self.source] if self.source else []
        if self.line is not None:
            spot.append(f"line {self.line}")
        if self.column is not None:
            spot.append(f"column {self.column}")
        if self.name:
            spot.append(self.name)
        return ", ".join(spot)


@dataclass(frozen=True)
class Finding:
    """Something wrong with data: what, where, and what to try."""

    what: str
    where: Where = field(default_factory=Where)
    remedy: str = ""
    severity: Severity = Severity.ERROR

    def __str__(self) -> str:
        place = f"{self.where}: " if str(self.where) else ""
        remedy = f" ({self.remedy})" if self.remedy else ""
        return f"{place}{self.what}{remedy}"


class NextprobeError(Exception):
    """Root of every exception that Nextprobe raises on purpose."""


class MisuseError(NextprobeError):
    """A call or a command that makes no sense as given."""


class SettingError(MisuseError):
    """A measurement setting outside the range of the instrument."""


class UnknownStepError(MisuseError):
    """A step id that this job does not offer."""


class RepeatedKeyError(MisuseError):
    """A key with which a client has named another entry before."""


class DataError(NextprobeError):
    """Data that can not be used at all; ``findings`` say why."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("; ".join(str(finding) for finding in self.findings))


class SolverError(NextprobeError):
    """The circuit could not be solved."""


class StoreError(NextprobeError):
    """The job store can not be used."""


class StoreLockedError(StoreError):
    """Another process holds the store for writing."""


class StoreConflictError(StoreError):
    """Somebody else wrote first: nothing was stored; read again and retry."""


class StoreDamagedError(StoreError):
    """The store or its chain of hashes is broken."""
