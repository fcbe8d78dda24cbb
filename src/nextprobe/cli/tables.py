"""Tables and paragraphs for people: plain shapes, words before colours."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from nextprobe.cli.say import say_chance, say_minutes, say_money, say_share, say_value

if TYPE_CHECKING:
    from nextprobe.workbench.differences import DifferenceRecord
    from nextprobe.workbench.expected import ExpectedReading
    from nextprobe.workbench.explain import Explanation
    from nextprobe.workbench.remarks import Remark
    from nextprobe.workbench.steps import StepRecord
    from nextprobe.workbench.words import Moved, SuspectRecord

_BRANCHES_SHOWN = 8
_EVIDENCE_SHOWN = 3


def table(*headings: str, numbers: Sequence[int] = ()) -> Table:
    """Return an empty table; columns in `numbers` are set to the right, and never broken."""
    made = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    for place, title in enumerate(headings):
        right = place in numbers
        whole = right or title in ("step", "point", "job")
        made.add_column(title, justify="right" if right else "left", no_wrap=whole)
    return made


def line(text: str, indent: int = 0) -> RenderableType:
    """Return a paragraph."""
    return Padding(Text(text), (0, 0, 0, indent), expand=False)


def heading(text: str) -> RenderableType:
    """Return a line that stands out."""
    return Text(text, style="bold")


def steps(found: Sequence[StepRecord], currency: str) -> Iterator[RenderableType]:
    """Show the recommended step at length and the others in a table."""
    if not found:
        return
    yield from _first(found[0], currency)
    if len(found) > 1:
        yield Text()
        others = table("or", "step", f"job [{currency}]", f"step [{currency}]", numbers=(2, 3))
        for item in found[1:]:
            others.add_row(item.title, item.id, f"{item.cost:.2f}", f"{item.price:.2f}")
        yield others


def _first(step: StepRecord, currency: str) -> Iterator[RenderableType]:
    yield heading(f"Next: {step.title}")
    yield line(f"step {step.id}", 2)
    yield from (line(how, 2) for how in step.how if step.kind != "run")
    if step.kind == "run":
        yield line(f"in this order: {' '.join(step.how)}", 2)
    yield from (line(f"CAUTION  {caution}", 2) for caution in step.cautions)
    price = say_money(step.price, currency)
    yield line(f"costs {price}, {say_minutes(step.attended_minutes, step.elapsed_minutes)}", 2)
    yield from (
        line(f"because: {reason.text}", 2) for reason in step.reasons if reason.kind != "price"
    )
    if step.branches:
        shown = table("may show", "chance", "then", numbers=(1,))
        for branch in sorted(step.branches, key=lambda item: -item.probability)[:_BRANCHES_SHOWN]:
            shown.add_row(branch.label, say_chance(branch.probability), branch.title)
        yield Padding(shown, (0, 0, 0, 2))
    if step.answers:
        yield line(f"record it: nextprobe record {step.id} RESULT", 2)
        yield line(f"RESULT is {'; '.join(step.answers)}", 2)


def suspects(found: Iterable[SuspectRecord], reasons: bool) -> Iterator[RenderableType]:
    """Show suspects, and what moved each."""
    shown = table("suspect", "now", "before", "in words", numbers=(1, 2))
    for item in found:
        shown.add_row(
            Text(item.title), say_share(item.probability), say_share(item.prior), item.words
        )
        for moved in _telling(item) if reasons else ():
            times = f"odds x {float(f'{moved.factor:.2g}'):g}"
            shown.add_row(Text(f"   {moved.evidence}"), times, "", moved.words)
    yield shown


def _telling(item: SuspectRecord) -> list[Moved]:
    """Return the evidence that moved a suspect most, in the order of the job."""
    strongest = sorted(item.moved, key=lambda moved: -abs(moved.nats))[:_EVIDENCE_SHOWN]
    return [moved for moved in item.moved if moved in strongest and f"{moved.factor:.2g}" != "1"]


def remarks(found: Iterable[Remark]) -> Iterator[RenderableType]:
    """Show what is worth saying."""
    yield from (line(f"NOTE  {remark.text}") for remark in found)


def explanation(found: Explanation, currency: str) -> Iterator[RenderableType]:
    """Show why a step is, or is not, next."""
    yield heading(found.title)
    time = say_minutes(found.attended_minutes, found.elapsed_minutes)
    yield line(
        f"costs {say_money(found.price, currency)}: {time}, parts "
        f"{say_money(found.parts, currency)}, expected harm {say_money(found.harms, currency)}",
        2,
    )
    yield from (line(reason.text, 2) for reason in found.against if reason.kind != "price")
    for meaning in found.meanings[:_BRANCHES_SHOWN]:
        yield Text()
        yield line(f"If it shows: {meaning.label} ({say_chance(meaning.probability)})", 2)
        leading = table("suspect", "then", "now", "", numbers=(1, 2))
        for shift in meaning.likeliest:
            leading.add_row(
                Text(shift.title), say_share(shift.after), say_share(shift.before), shift.words
            )
        yield Padding(leading, (0, 0, 0, 4))
    for group in found.never_told_apart:
        yield line(f"It can never tell apart: {'; '.join(group)}", 2)
    yield from remarks(found.remarks)
    yield from (line(f"CAUTION  {caution}", 2) for caution in found.cautions)


def expected(found: ExpectedReading) -> Iterator[RenderableType]:
    """Show what to expect at a point."""
    yield heading(f"{found.point} ({found.net}, {found.role.value}), {found.mode.value} mode")
    healthy = say_value(found.healthy, found.mode)
    if isinstance(found.healthy, float):
        healthy += f", standard uncertainty {say_value(found.deviation, found.mode)}"
    yield line(f"a good board reads {healthy}; source: {found.source}", 2)
    if isinstance(found.healthy, float):
        low, high = say_value(found.low, found.mode), say_value(found.high, found.mode)
        yield line(f"as expected: {low} to {high}", 2)
    read = ", ".join(say_value(value, found.mode) for value in found.read)
    yield line(f"read: {read} ({found.verdict})" if read else "not read yet", 2)
    if found.suspects:
        shown = table("if it is", "it reads", "chance", numbers=(1, 2))
        for item in found.suspects:
            values = " to ".join(say_value(value, found.mode) for value in item.values)
            shown.add_row(Text(item.title), values, say_share(item.probability))
        yield Padding(shown, (0, 0, 0, 2))


def differences(found: Sequence[DifferenceRecord]) -> Iterator[RenderableType]:
    """Show the patient against boards that work."""
    if not found:
        yield line("nothing to compare: read the same points here and on a donor")
        return
    alike = len({item.source for item in found}) == 1
    shown = table("point", "here", "good", "in sigma", "what it suggests", numbers=(1, 2, 3))
    for item in found:
        shown.add_row(
            Text(item.point),
            say_value(item.patient, item.mode),
            say_value(item.good, item.mode),
            f"{item.score:+z.1f}",
            Text(item.suggests if alike else f"{item.suggests} [{item.source}]"),
        )
    yield shown
    if alike:
        yield line(f"good: {found[0].source}")
