"""A job told step by step: what to do and why, what came of it, and whom it points at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from nextprobe.cli.say import say_chance, say_minutes, say_money, say_share
from nextprobe.trials.play import Played
from nextprobe.workbench.remarks import Remark
from nextprobe.workbench.steps import Branch, StepRecord
from nextprobe.workbench.words import SuspectRecord

_BAR = 20
_SUSPECTS = 4
_BRANCHES = 4


def opening(device: str, maker: str, says: str, complaint: str, history: Sequence[str]) -> Group:
    """Show what comes in over the counter."""
    told = ", ".join(history) if history else "nothing known"
    return Group(
        Rule(f"{device}, {maker}" if maker else device, align="left", characters="═"),
        Text(f"“{says}”", style="italic"),
        Text(f"Complaint: {complaint}.  What happened: {told}."),
        Text("Everything here is invented, and the bench is simulated.", style="dim"),
    )


def step(
    number: int, record: StepRecord, currency: str, near_tie: bool, titles: Mapping[str, str]
) -> Group:
    """Show a step with its reasons and cautions; `titles` are those of steps by their ids."""
    title = Text(f"{number:>2}  {record.title}", style="bold")
    time = say_minutes(record.attended_minutes, record.elapsed_minutes)
    lines: list[RenderableType] = [Text(), title]
    lines.append(_row("costs", f"{say_money(record.price, currency)}, {time}"))
    lines.extend(
        _row("because", reason.text) for reason in record.reasons if reason.kind != "price"
    )
    if near_tie:
        lines.append(_row("", "the runner-up is about as good"))
    lines.extend(_row("CAUTION", caution) for caution in record.cautions)
    likely = sorted(record.branches, key=lambda branch: -branch.probability)[:_BRANCHES]
    lines.extend(
        _row("if", f"{branch.label} ({say_chance(branch.probability)}): {_then(branch, titles)}")
        for branch in likely
    )
    return Group(*lines)


def _then(branch: Branch, titles: Mapping[str, str]) -> str:
    step = branch.then.partition("+")[0]
    return titles.get(step, step) or "the end"


def _row(word: str, text: str) -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=9, justify="right", style="dim")
    grid.add_column()
    grid.add_row(word, Text(text))
    return Padding(grid, (0, 0, 0, 2))


def outcome(said: Iterable[str], remarks: Iterable[Remark]) -> Group:
    """Show what came of a step, and what should be said unasked."""
    found = list(said)
    shown = found if len(found) <= _BRANCHES else [*found[:2], "…", *found[-2:]]
    lines: list[RenderableType] = [_row("► seen", "; ".join(shown))]
    lines.extend(_row("note", remark.text) for remark in remarks)
    return Group(*lines)


def suspects(found: Sequence[SuspectRecord]) -> RenderableType:
    """Show the leading suspects as bars with numbers, and what moved each last."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=9, justify="right", style="dim")
    grid.add_column(ratio=1)
    grid.add_column(no_wrap=True)
    grid.add_column(justify="right", no_wrap=True)
    grid.add_column(no_wrap=True, style="dim")
    for place, item in enumerate(found[:_SUSPECTS]):
        state = "" if item.remaining > 0.5 * item.probability else ", now put right"
        grid.add_row(
            "suspects" if place == 0 else "",
            Text(item.title + state),
            bar(item.probability),
            say_share(item.probability),
            f"was {say_share(item.prior)}",
        )
    return Padding(grid, (0, 0, 0, 2))


def bar(probability: float) -> Text:
    """Return a probability as a bar of fixed width."""
    filled = round(probability * _BAR)
    return Text("█" * filled + "·" * (_BAR - filled))


def ending(played: Played, truth: str, lesson: str, currency: str) -> Iterator[RenderableType]:
    """Show how a job ended and what was really wrong."""
    yield Text()
    yield Rule(align="left", characters="═")
    verdict = "the right repair" if played.right_repair else "NOT the right repair"
    yield Text(f"Ended with: {played.ending}: {verdict}.", style="bold")
    minutes = played.cost.attended / 60.0
    yield Text(
        f"{len(played.steps)} steps, {minutes:.0f} min of work, "
        f"{say_money(played.price, currency)} in all (time, parts and expected harm)."
    )
    yield Text(f"What was really wrong: {truth}.")
    if lesson:
        yield Text(lesson, style="italic")


def choices(found: Sequence[StepRecord], currency: str) -> RenderableType:
    """Show steps to choose from, numbered."""
    grid = Table.grid(padding=(0, 1))
    for _ in range(3):
        grid.add_column()
    for number, item in enumerate(found, 1):
        mark = " (recommended)" if item.recommended else ""
        grid.add_row(f"{number:>4}", item.title + mark, say_money(item.price, currency))
    return grid
