"""What a suspect's odds are made of, for people: a sum, with the greatest parts said first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from nextprobe.cli.say import say_count, say_share
from nextprobe.cli.tables import heading, line, table
from nextprobe.workbench.phrases import say_times
from nextprobe.workbench.reckoning import FELT
from nextprobe.workbench.words import DECIBANS

if TYPE_CHECKING:
    from nextprobe.workbench.reckoning import Reckoning, Standing
    from nextprobe.workbench.words import Moved


def reckoning(found: Reckoning) -> Iterator[RenderableType]:
    """Show what a suspect's odds are made of."""
    yield heading(found.title)
    yield line(
        f"{say_share(found.probability)} now ({found.words}), "
        f"{say_share(found.came_in.probability)} when the device came in",
        2,
    )
    yield from (line(said, 2) for said in found.said)
    yield _sum(found)
    yield line(found.shares, 2)
    error = max((each.error for each in found.moved), default=0.0) * DECIBANS
    if error >= 0.05:
        yield line(f"Other orders would change a part by about {error:.1f} decibans.", 2)
    if found.about:
        yield from _rivals(found)


def _sum(found: Reckoning) -> Table:
    shown = table("no", "evidence", "decibans", "odds", "in words", numbers=(0, 2, 3))
    _stands(shown, "by the complaint alone", found.at_first)
    _parts(shown, found.story)
    _stands(shown, "when the device came in", found.came_in)
    _parts(shown, found.moved)
    _stands(shown, "now", found.now)
    return shown


def _stands(shown: Table, title: str, standing: Standing) -> None:
    shown.add_row("", Text(title, style="bold"), f"{standing.decibans:+.1f}",
                  say_share(standing.probability), "")  # fmt: skip


def _parts(shown: Table, parts: Sequence[Moved]) -> None:
    """Show the parts that can be felt, and the sum of the others."""
    felt = [each for each in parts if not 1.0 / FELT < each.factor < FELT]
    for each in felt:
        shown.add_row(
            str(each.event), Text(each.evidence), f"{each.decibans:+.1f}", _times(each.factor),
            each.words,
        )  # fmt: skip
    others = [each for each in parts if each not in felt]
    if others:
        rest = sum(each.decibans for each in others)
        title = f"{say_count(len(others), 'entry')} that hardly moved it"
        shown.add_row("", title.replace("entrys", "entries"), f"{rest:+.1f}", "", "")


def _times(factor: float) -> str:
    return f"x {say_times(factor)}".removesuffix(" times")


def _rivals(found: Reckoning) -> Iterator[RenderableType]:
    yield Text()
    yield line(f"Against its rivals: {'; '.join(found.about)}", 2)
    if not found.against:
        yield line("it is as likely under each of them", 4)
        return
    shown = table("rival", "decibans", "what it says of it", numbers=(1,))
    for each in found.against:
        shown.add_row(Text(each.title), f"{each.decibans:+.1f}", each.words)
    shown.add_row("all together", f"{sum(each.decibans for each in found.against):+.1f}", "")
    yield shown
