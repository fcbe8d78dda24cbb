"""What went wrong, for people and for machines."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence

import typer

from nextprobe.errors import DataError, Finding, NextprobeError

# The base of everything that a wrong command line raises. Typer carries its own copy of the
# library that defines it, or depends on it, according to its version.
CommandLineProblem: type[Exception] = typer.BadParameter.__mro__[2]

_WORDS = {"note": "Note", "warning": "Warning", "error": "Wrong"}


def say_finding(finding: Finding) -> str:
    """Return a finding as a line for people."""
    return f"{_WORDS[finding.severity]}: {finding}"


def finding_json(finding: Finding) -> dict[str, object]:
    """Return a finding as plain JSON."""
    where = finding.where
    return {
        "severity": finding.severity.value,
        "what": finding.what,
        "where": {
            "source": where.source,
            "line": where.line,
            "column": where.column,
            "name": where.name,
        },
        "remedy": finding.remedy,
    }


def report(error: NextprobeError, as_json: bool) -> None:
    """Say what went wrong."""
    findings: Sequence[Finding] = error.findings if isinstance(error, DataError) else ()
    if as_json:
        _print_error(type(error).__name__, str(error), findings)
        return
    lines = [say_finding(finding) for finding in findings] or [f"Wrong: {error}"]
    print("\n".join(lines), file=sys.stderr)


def report_usage(problem: Exception, as_json: bool) -> None:
    """Say what is wrong with the command line."""
    message = problem.format_message() if hasattr(problem, "format_message") else str(problem)
    if as_json:
        _print_error("UsageError", message, ())
        return
    context = getattr(problem, "ctx", None)
    print(f"Wrong: {message}" if message else "", file=sys.stderr)
    if context is not None:
        print(f"Try '{context.command_path} --help'.", file=sys.stderr)


def _print_error(kind: str, message: str, findings: Sequence[Finding]) -> None:
    error = {
        "kind": kind,
        "message": message,
        "findings": [finding_json(finding) for finding in findings],
    }
    print(json.dumps({"error": error}, ensure_ascii=False, indent=2))
