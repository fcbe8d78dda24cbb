"""A job told step by step: what to do and why, what came of it, and whom it points at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from rich.console import Group, RenderableType
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from nextprobe.cli.say import say_chance, say_minutes, say_money, say_share
from nextprobe.diagnosis import Move, Probe, say_move
from nextprobe.planning import Reason
from nextprobe.trials.play import Played
from nextprobe.workbench.outcomes import label_shown
from nextprobe.workbench.remarks import Remark
from nextprobe.workbench.steps import Branch, StepRecord
from nextprobe.workbench.words import SuspectRecord

_BAR = 16
_SUSPECTS = 4
_WORTH_A_LINE = 0.005
_BRANCHES = 4
_POINTS = 6
_TELLING = ("ends", "saves", "plan", "near tie", "runner-up")
_WORDS = {
    "works": "it works",
    "fails": "it fails",
    "refresh failed": "the refresh fails",
    "nothing": "it shows nothing",
    "something else": "another point surprises",
}
_READS = ("as expected", "near zero", "low", "high", "over-range")
_ENDINGS = {
    "close": "Handed over",
    "decline": "Declined",
    "escalate": "Handed on to an open-ended search",
}


def opening(device: str, maker: str, says: str, complaint: str, history: Sequence[str]) -> Group:
    """Show what comes in over the counter."""
    told = ", ".join(history) if history else "nothing known"
    return Group(
        Rule(f"{device}, {maker}" if maker else device, align="left", characters="═"),
        Text(f"“{says}”", style="italic"),
        Text(f"What fails: {complaint}. What happened before: {told}."),
        Text("Everything here is invented, and the bench is simulated.", style="dim"),
        Text(),
    )


def step(number: int, record: StepRecord, currency: str) -> Group:
    """Show a step with what it costs, why it comes next, and what to beware of."""
    time = say_minutes(record.attended_minutes, record.elapsed_minutes)
    whole = f"the whole job about {record.cost:.0f} {currency}"
    price = f"{say_money(record.price, currency)}, {time}"
    lines: list[RenderableType] = [Text(), Text(f"{number:>2}  {record.title}", style="bold")]
    lines.extend(_row("how", how) for how in _how(record))
    lines.append(_row("costs", price if record.kind == "end" else f"{price}; {whole}"))
    lines.extend(_row("because", reason.text) for reason in record.reasons if _tells(reason))
    lines.extend(_row("CAUTION", caution) for caution in record.cautions)
    lines.extend(_row("if", _fork(group)) for group in _forks(record.branches))
    return Group(*lines)


def _tells(reason: Reason) -> bool:
    """Tell whether a reason says something: a runner-up at twice the cost does not."""
    far = reason.numbers.get("margin", 0.0) > 0.5 * reason.numbers.get("cost", 0.0)
    return reason.kind in _TELLING and not (reason.kind == "runner-up" and far)


def _how(record: StepRecord) -> Iterator[str]:
    if record.kind != "run":
        yield from record.how
    elif record.how:
        first = ", ".join(record.how[:_POINTS])
        more = len(record.how) - _POINTS
        rest = f" and {more} more" if more > 0 else ""
        yield f"{first}{rest}; touch a surprise twice more, and stop if it stays"


def _forks(branches: Sequence[Branch]) -> list[list[Branch]]:
    """Return the likeliest outcomes, those that lead to the same step together."""
    likely = sorted(branches, key=lambda branch: -branch.probability)[:_BRANCHES]
    first = {branch.title: place for place, branch in reversed(list(enumerate(likely)))}
    likely.sort(key=lambda branch: first[branch.title])
    return [list(group) for _, group in groupby(likely, key=lambda branch: branch.title)]


def _fork(branches: Sequence[Branch]) -> str:
    seen = " or ".join(
        f"{say_seen(branch.label)} ({say_chance(branch.probability)})" for branch in branches
    )
    return f"{seen}: {branches[0].title}" if branches[0].title else seen


def say_seen(label: str) -> str:
    """Return what is seen as the rest of a sentence that begins with “if”."""
    if label in _READS:
        return f"it reads {label}"
    point, _, word = label.partition(" ")
    if word in _READS and "." in point:
        return f"{point} reads {word}"
    return _WORDS.get(label, f"it shows ‘{label}’" if label[:1].islower() else label)


def _row(word: str, text: str, style: str = "") -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=8, justify="right", style="dim")
    grid.add_column()
    grid.add_row(word, Text(text, style=style))
    return grid


def outcome(moves: Sequence[Move], remarks: Iterable[Remark]) -> Group:
    """Show what came of a step, and what should be said unasked."""
    lines: list[RenderableType] = [_row("► seen", _seen(moves), "bold")]
    lines.extend(_row("NOTE", remark.text) for remark in remarks)
    return Group(*lines)


def _seen(moves: Sequence[Move]) -> str:
    last = moves[-1]
    if not isinstance(last.act, Probe):
        return say_seen(label_shown(last.result))
    if len(moves) == 1:
        return say_move(last)
    twice = " again" if moves[-2].act == last.act else ""
    return f"{len(moves)} readings; the last: {say_move(last)}{twice}"


def suspects(found: Sequence[SuspectRecord]) -> RenderableType:
    """Show the leading suspects: chance, the same as a bar, and what it was at the start."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=8, justify="right", style="dim")
    grid.add_column(width=8, justify="right", no_wrap=True)
    grid.add_column(width=_BAR, no_wrap=True)
    grid.add_column()
    leading = [item for item in found[:_SUSPECTS] if item.probability >= _WORTH_A_LINE]
    for place, item in enumerate(leading or found[:1]):
        word = "suspects" if place == 0 else ""
        grid.add_row(word, _share(item.probability), bar(item.probability), _suspect(item))
    return grid


def _suspect(item: SuspectRecord) -> Text:
    text = Text(item.title)
    if item.remaining <= 0.5 * item.probability:
        text.append(", put right by now")
    if _share(item.prior) != _share(item.probability):
        text.append(f" ({_share(item.prior)} at first)", style="dim")
    return text


def _share(probability: float) -> str:
    return say_share(probability).replace("below", "<").replace("above", ">")


def bar(probability: float) -> Text:
    """Return a probability as a bar of fixed width."""
    filled = round(probability * _BAR)
    return Text("█" * filled + "·" * (_BAR - filled))


def ending(played: Played, finished: bool, currency: str) -> Group:
    """Show how a job ended, and what it took; or that it was left before its end."""
    steps = "1 step" if len(played.steps) == 1 else f"{len(played.steps)} steps"
    took = f"{steps}, {played.cost.attended / 60.0:.0f} min of work"
    if not finished:
        said, took = "Stopped before the end.", f"{took} so far."
    else:
        said = f"{_ENDINGS[played.ending]}: {_verdict(played)}."
        took = f"{took}, {say_money(played.price, currency)} in all (time, parts, expected harm)."
    return Group(Text(), Rule(characters="═"), Text(said, style="bold"), Text(took))


def _verdict(played: Played) -> str:
    if played.right_repair:
        return "the right repair"
    if played.ending != "close":
        return "not repaired"
    return "repaired, but a good module was sold" if played.cured else "NOT repaired"


def answer(truth: str, lesson: str) -> Group:
    """Show what was really wrong, and what there is to learn from it."""
    lines = [Text(f"What was really wrong: {truth}.")]
    return Group(*lines, *([Text(lesson, style="italic")] if lesson else []))


def choices(found: Sequence[StepRecord], currency: str) -> RenderableType:
    """Show steps to choose from, numbered."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=4, justify="right")
    grid.add_column(justify="right", no_wrap=True)
    grid.add_column()
    for number, item in enumerate(found, 1):
        mark = " (recommended)" if item.recommended else ""
        grid.add_row(str(number), say_money(item.price, currency), Text(item.title + mark))
    return grid
