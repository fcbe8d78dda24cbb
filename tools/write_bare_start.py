"""Write docs/bare-start.md: a job from nothing but a complaint, with what the program answers.

Run from the root of the checkout::

    python tools/write_bare_start.py
"""

from __future__ import annotations

import io
import os
import shlex
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from nextprobe.cli.main import main

PAGE = Path("docs", "bare-start.md")
WIDTH = 80
KEYSTROKES_A_MINUTE = 200
"""Of somebody who types at the bench; common practice, no published source."""


@dataclass(frozen=True)
class Entry:
    """What is typed at one prompt.

    Parameters
    ----------
    about : str
        The paragraph above it.
    command : str
        As in a shell.
    lines : str
        What is typed into it, up to the end of the text (Ctrl-D).
    """

    about: str
    command: str
    lines: str = ""

    @property
    def keystrokes(self) -> int:
        """How many keys are pressed, those that end a line or the text included."""
        return len(self.command) + 1 + (len(self.lines) + 1 if self.lines else 0)

    @property
    def typed(self) -> int:
        """How many lines are typed."""
        return 1 + self.lines.count("\n")


PINOUT = """1 gnd
2 VDD_CAM
3 SDA
4 SCL
5 D0P
6 D0N
7 D1P
8 D1N
"""

FIRST_VALUE = (
    Entry(
        "A Brindle 4 comes in: no picture from its camera since it got wet. There is no pack for "
        "it, no schematic and no board file.",
        'nextprobe start --template camera --device "Brindle 4" --history liquid',
    ),
    Entry("What to do first, from the complaint alone:", "nextprobe next -n 3"),
    Entry(
        "It is done anyway: the device is opened, and the liquid indicator is still white.",
        "nextprobe record look:liquid-indicator nothing",
    ),
)
COMPARED = (
    Entry(
        "The eight pins of the camera's connector, as far as they can be told. The names alone "
        "make a sketch of a board.",
        "nextprobe pinout",
        PINOUT,
    ),
    Entry(
        "The same pins in diode mode, first on a donor board that works, then on the patient. "
        "Batteries unplugged, rails discharged, both boards on an earthed mat.",
        "nextprobe donor 2=.512 3=.452 4=.455 5=.410 6=.412 7=.409 8=.411",
    ),
    Entry("", "nextprobe read 2=.510 3=.450 4=.456 5=.409 6=.232 7=.411 8=.408"),
    Entry("What differs, worst first, and what that suggests:", "nextprobe compare"),
)
CHAIN = (
    Entry(
        "Under the microscope a small two-legged part hangs on that lane, close to the connector. "
        "One chain tells the program so, in the middle of the job; every reading so far is weighed "
        "again with it.",
        'nextprobe chain "J1.6 > D0N | D9 esd > GND"',
    ),
    Entry("Why, in odds, reading by reading:", "nextprobe suspects -n 3"),
    Entry(
        "The whole sum for that part, and which of its rivals the odd pin speaks against "
        "([why.md](why.md)):",
        "nextprobe suspects --why leaky:D9 --about J1.6",
    ),
    Entry("And what to do now:", "nextprobe next -n 3"),
)
ENTRIES = (*FIRST_VALUE, *COMPARED, *CHAIN)


@contextmanager
def bench(folder: Path, extra: Mapping[str, str] | None = None) -> Iterator[None]:
    """Give a folder of jobs of its own and a terminal of fixed width."""
    settings = {"NEXTPROBE_HOME": str(folder), "COLUMNS": str(WIDTH), **(extra or {})}
    with mock.patch.dict(os.environ, settings):
        yield


def answer(entry: Entry) -> str:
    """Type an entry, and return what the program prints.

    Raises
    ------
    RuntimeError
        If the program refuses it.
    """
    out = io.StringIO()
    words = shlex.split(entry.command)[1:]
    with (
        mock.patch.object(sys, "stdin", io.StringIO(entry.lines)),
        redirect_stdout(out),
        redirect_stderr(out),
    ):
        code = main(words)
    if code:
        raise RuntimeError(f"{entry.command}: exit code {code}\n{out.getvalue()}")
    return out.getvalue()


def page() -> str:
    """Return the page, every answer fresh."""
    with tempfile.TemporaryDirectory() as folder, bench(Path(folder)):
        parts = [_block(entry, answer(entry)) for entry in ENTRIES]
    return "\n\n".join([_heading(), *parts, _ending()]) + "\n"


def _heading() -> str:
    (lines, keys), (more_lines, more_keys), (all_lines, all_keys) = (
        sum_of(FIRST_VALUE[:2]), sum_of((*FIRST_VALUE, *COMPARED)), sum_of(ENTRIES)
    )  # fmt: skip
    return (
        "# From nothing but a complaint\n\n"
        "Written by `tools/write_bare_start.py`: each command was run, and what it printed stands "
        "below it.\n\n"
        f"How much typing is it? The first advice takes {lines} lines and {keys} keystrokes. The "
        "comparison with a donor board, its readings and those of the patient included, takes "
        f"{more_lines} lines and {more_keys} keystrokes in all, which at {KEYSTROKES_A_MINUTE} "
        f"keystrokes a minute are {say_minutes(more_keys)} of typing. The whole page takes "
        f"{all_lines} lines and {all_keys} keystrokes."
    )


def sum_of(entries: tuple[Entry, ...]) -> tuple[int, int]:
    """Return how many lines and keystrokes some entries take."""
    return sum(entry.typed for entry in entries), sum(entry.keystrokes for entry in entries)


def say_minutes(keystrokes: int) -> str:
    """Return how long it takes to type."""
    seconds = 60 * keystrokes / KEYSTROKES_A_MINUTE
    return f"{seconds // 60:.0f} min {seconds % 60:.0f} s"


def _block(entry: Entry, printed: str) -> str:
    typed = f"$ {entry.command}\n{entry.lines}"
    shown = "\n".join(line.rstrip() for line in printed.splitlines()).strip("\n")
    block = f"```text\n{typed.rstrip()}\n\n{shown}\n```"
    return f"{entry.about}\n\n{block}" if entry.about else block


def _ending() -> str:
    return (
        "Nothing was looked up and nothing was configured. What was typed is kept in the job. The "
        "pinout, the chain and the donor's readings are also what a pack for the next Brindle 4 is "
        "made of: see [packs.md](packs.md)."
    )


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
