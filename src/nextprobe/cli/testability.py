"""How well a pack's tests detect and isolate the faults behind a complaint."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import JsonOption

if TYPE_CHECKING:
    from rich.console import RenderableType

    from nextprobe.trials.testability import Testability

_SHOWN = 8
_NAMED = 6


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("testability")(testability)


def testability(
    pack: Annotated[str, typer.Argument(help="A demo pack, or the folder of a pack.")],
    complaint: Annotated[str, typer.Argument(help="The function that fails.")],
    as_json: JsonOption = False,
) -> None:
    """Say which share of faults the tests of a pack detect, and how far they isolate them.

    In the terms of IEEE Std 1522, from what each test is predicted to show.
    """
    from rich.console import Console  # noqa: PLC0415

    from nextprobe.cli.session import Session  # noqa: PLC0415
    from nextprobe.job.shelf import shelf_from  # noqa: PLC0415
    from nextprobe.trials.testability import testability as measure  # noqa: PLC0415

    shelf, findings = shelf_from(pack)
    with Console(stderr=True).status("computing what every test would show"):
        case = shelf.case(complaint)
        found = measure(case)
    titles = {each.key: each.title for each in case.suspects()}
    title = shelf.pack.functions[complaint].title
    data = {
        "device": shelf.pack.device.name,
        "complaint": complaint,
        **found.measures(),
        "undetected": [{"fault": name, "share": share} for name, share in found.undetected],
        "ambiguity_groups": [
            {"faults": group.faults, "share": group.share} for group in found.groups
        ],
    }
    Session(as_json=as_json).answer(data, _shown(found, title, titles), findings)


def _shown(found: Testability, title: str, titles: dict[str, str]) -> Iterator[RenderableType]:
    from rich.text import Text  # noqa: PLC0415

    from nextprobe.cli.tables import heading, line, table  # noqa: PLC0415

    tests = ", ".join(f"{count} {kind}s" for kind, count in found.tests.items())
    yield heading(f"{title}: {found.faults} faults; {tests}")
    shown = table("share of faults, by their rates", "", numbers=(1,))
    shown.add_row("detected by looks, checks and readings", _percent(found.detected))
    for size, share in found.isolated.items():
        one = "isolated to one, with harmless trials"
        shown.add_row(one if size == 1 else f"to {size} or fewer", _percent(share))
    shown.add_row("isolated to one repair", _percent(found.one_repair))
    yield shown
    yield line(f"On average {found.mean_group:.1f} faults remain.")
    if found.undetected:
        missed = table("not detected without a trial", "share", numbers=(1,))
        for name, share in found.undetected[:_SHOWN]:
            missed.add_row(Text(titles.get(name, name)), _percent(share))
        yield missed
        yield from _more(len(found.undetected))
    if found.groups:
        groups = table("what no test tells apart", "share", numbers=(1,))
        for group in found.groups[:_SHOWN]:
            words = [titles.get(name, name) for name in group.faults[:_NAMED]]
            more = len(group.faults) - len(words)
            words += [f"and {more} more"] if more else []
            groups.add_row(Text("; ".join(words)), _percent(group.share))
        yield groups
        yield from _more(len(found.groups))
    yield line("Told apart: taken for one another at most once in 20 times, all tests done.")


def _more(count: int) -> Iterator[RenderableType]:
    from nextprobe.cli.tables import line  # noqa: PLC0415

    if count > _SHOWN:
        yield line(f"and {count - _SHOWN} more; --json has them all")


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"
