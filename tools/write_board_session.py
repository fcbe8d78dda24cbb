"""Write the session in docs/boards.md: a job on a board that somebody else designed.

The board is one of the demonstration boards that come with KiCad (Debian: package kicad-demos).
Run from the root of the checkout::

    python tools/write_board_session.py
"""

from __future__ import annotations

import io
import os
import re
import shlex
import tempfile
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path
from unittest import mock

from nextprobe.cli.main import main

PAGE = Path("docs", "boards.md")
BOARD = Path("/usr/share/kicad/demos/stickhub/StickHub.kicad_pcb")
MARKS = re.compile(r"(<!-- session -->\n).*?(<!-- end of session -->)", re.DOTALL)
MAKERS_NAME = re.compile(r"MaxLinear_[\w-]+")
"""What the file calls its chip after its maker; no maker is named on the page."""
WIDTH = 80

ENTRIES = (
    ("What is on it, and what could not be told:", "nextprobe board StickHub.kicad_pcb"),
    ("What hangs on the plug's data lines, and why they are called lanes:",
     "nextprobe board StickHub.kicad_pcb --search /D+"),
    ("A pack for jobs at that plug. Nothing but its connector is stated.",
     "nextprobe pack new StickHub.kicad_pcb --into hub --function port --class charging "
     "--connector J1"),
    ("", "nextprobe pack check hub"),
    ("", "nextprobe start hub"),
    ("Diode mode at the plug, first on a board that works, then on the patient:",
     "nextprobe donor J1.2=.472 J1.3=.470"),
    ("", "nextprobe read J1.2=.001 J1.3=.471"),
)  # fmt: skip


def session() -> str:
    """Return the session, every answer fresh."""
    with tempfile.TemporaryDirectory() as folder, chdir(folder):
        board = MAKERS_NAME.sub("hub chip", BOARD.read_text("utf-8"))
        Path(folder, BOARD.name).write_text(board, "utf-8")
        settings = {"NEXTPROBE_HOME": str(Path(folder, "jobs")), "COLUMNS": str(WIDTH)}
        with mock.patch.dict(os.environ, settings):
            return "\n\n".join(_block(about, command) for about, command in ENTRIES)


def _block(about: str, command: str) -> str:
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(io.StringIO()):
        code = main(shlex.split(command)[1:])
    if code:
        raise RuntimeError(f"{command}: exit code {code}\n{out.getvalue()}")
    lines = (line.rstrip() for line in out.getvalue().splitlines())
    block = f"```text\n$ {command}\n\n{chr(10).join(lines).strip(chr(10))}\n```"
    return f"{about}\n\n{block}" if about else block


def written(page: str, told: str) -> str:
    """Return a page with the session between its marks."""
    return MARKS.sub(lambda found: f"{found[1]}\n{told}\n\n{found[2]}", page)


if __name__ == "__main__":
    PAGE.write_text(written(PAGE.read_text("utf-8"), session()), "utf-8")
