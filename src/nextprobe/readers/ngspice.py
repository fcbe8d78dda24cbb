"""Running ngspice, the open-source circuit simulator (https://ngspice.sourceforge.io)."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

from nextprobe.errors import Finding, SolverError

_SECONDS = 120.0
NGSPICE_MISSING = Finding(
    "this world needs the circuit simulator ngspice, which is not installed",
    remedy="install the package ngspice, or choose a world that does without",
)


def has_ngspice() -> bool:
    """Whether the program is installed."""
    return shutil.which("ngspice") is not None


def run_ngspice(deck: str) -> str:
    """Run a deck and return what it prints.

    Raises
    ------
    SolverError
        If the program is not installed or does not come to an end.
    """
    program = shutil.which("ngspice")
    if program is None:
        raise SolverError("ngspice is not installed")
    with TemporaryDirectory(prefix="nextprobe-") as folder:
        path = Path(folder) / "deck.cir"
        path.write_text(deck, "utf-8")
        command = [program, "-n", "-b", path.name]
        try:
            done = subprocess.run(
                command, cwd=folder, capture_output=True, text=True, check=False, timeout=_SECONDS
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise SolverError(f"ngspice did not come to an end: {error}") from error
    return done.stdout + done.stderr
