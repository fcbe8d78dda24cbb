"""Draw docs/demo.svg and docs/bare-start.svg: what the demo and a bare start look like.

Run from the root of the checkout::

    python tools/picture_of_demo.py
"""

from __future__ import annotations

import html
import io
import re
import tempfile
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text
from write_bare_start import CHAIN, COMPARED, ENTRIES, Entry, answer, bench

from nextprobe.cli.demo import tell
from nextprobe.job.shelf import shelf_from

FOLDER = Path("docs")
PACK = "courier-handheld"
WIDTH = 96
SHOWN = (*COMPARED[1:], CHAIN[0])
"""Of the bare start: enough to see what it is about."""

# Dark on light; dimmed text is mixed at 40 % and still has a contrast of 4.5 to 1.
THEME = TerminalTheme(
    (255, 255, 255),
    (17, 17, 17),
    [(17, 17, 17)] * 8,
    [(17, 17, 17)] * 8,
)

CHARACTER = 12.2
"""Width of a character in pictures by Rich, at 20 px."""

_GROUP = re.compile(r"\S+(?: \S+)*")
_TEXT = re.compile(
    r'<text class="(?P<style>[^"]+)" x="(?P<x>[^"]+)" y="(?P<y>[^"]+)"[^>]*>'
    r"(?P<text>[^<]*)</text>\s*"
)

PLAIN = """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img">
<title>TITLE</title>
<style>
text {{ font-family: ui-monospace, Menlo, Consolas, "DejaVu Sans Mono", monospace;
        font-size: {char_height}px; white-space: pre; }}
{styles}
</style>
<rect width="100%" height="100%" fill="#ffffff"/>
<g transform="translate(12, 24)">
{matrix}
</g>
</svg>
"""


def recording() -> Console:
    """Return a console that keeps what is printed, and prints nothing."""
    return Console(record=True, file=io.StringIO(), width=WIDTH, highlight=False)


def drawn(console: Console, title: str, name: str) -> str:
    """Return what a console has kept as a picture."""
    template = PLAIN.replace("TITLE", title)
    found = console.export_svg(theme=THEME, code_format=template, unique_id=name)
    return _TEXT.sub(_trimmed, found)


def _trimmed(found: re.Match[str]) -> str:
    """Return each word group where it begins: not all programs keep blanks or their width."""
    start = float(found["x"])
    whole = html.unescape(found["text"]).replace("\N{NO-BREAK SPACE}", " ")
    return "".join(
        f'<text class="{found["style"]}" x="{start + group.start() * CHARACTER:.1f}" '
        f'y="{found["y"]}" textLength="{len(group[0]) * CHARACTER:.1f}">'
        f"{html.escape(group[0], quote=False)}</text>\n"
        for group in _GROUP.finditer(whole)
    )


def demo() -> str:
    """Return the picture of the demo."""
    console = recording()
    shelf, _ = shelf_from(PACK)
    console.print(Text("$ nextprobe demo", style="bold"))
    tell(console, shelf, PACK)
    return drawn(console, "A whole job on the simulated bench", "nextprobe-demo")


def bare_start() -> str:
    """Return the picture of the middle of a job from a complaint alone."""
    console = recording()
    with tempfile.TemporaryDirectory() as folder:
        extra = {"COLUMNS": str(WIDTH), "FORCE_COLOR": "1"}
        with bench(Path(folder), extra):
            for entry in ENTRIES:
                printed = answer(entry)
                if entry in SHOWN:
                    _show(console, entry, printed)
    return drawn(console, "A job from nothing but a complaint", "nextprobe-bare")


def _show(console: Console, entry: Entry, printed: str) -> None:
    console.print(Text(f"$ {entry.command}", style="bold"))
    console.print(Text.from_ansi(printed.strip("\n")))
    console.print()


if __name__ == "__main__":
    FOLDER.joinpath("demo.svg").write_text(demo(), "utf-8")
    FOLDER.joinpath("bare-start.svg").write_text(bare_start(), "utf-8")
