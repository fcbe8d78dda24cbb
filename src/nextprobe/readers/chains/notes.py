"""Findings about chains, each with its line and column."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from nextprobe.errors import Finding, Severity, Where


@dataclass
class Notes:
    """Collects findings of one text."""

    source: str
    findings: list[Finding] = field(default_factory=list)

    def add(
        self,
        what: str,
        line: int,
        column: int,
        remedy: str,
        severity: Severity = Severity.ERROR,
    ) -> None:
        """Add a finding at a place in the text."""
        self.findings.append(Finding(what, Where(self.source, line, column), remedy, severity))

    def in_order(self) -> tuple[Finding, ...]:
        """Return the findings in the order of the text."""
        place = {id(f): (f.where.line or 0, f.where.column or 0) for f in self.findings}
        return tuple(sorted(self.findings, key=lambda finding: place[id(finding)]))


def closest(word: str, known: Iterable[str], otherwise: str) -> str:
    """Return advice: the known word that is most like `word`, else `otherwise`."""
    by_lower = {name.lower(): name for name in known}
    close = get_close_matches(word.lower(), by_lower, 1, 0.6)
    return f"did you mean {by_lower[close[0]]}?" if close else otherwise
