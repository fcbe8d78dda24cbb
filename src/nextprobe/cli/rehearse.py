"""Rehearsals: the same simulated devices under several strategies."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import JsonOption

if TYPE_CHECKING:
    from rich.console import RenderableType

    from nextprobe.trials.score import Score

_WORDS = {
    "nextprobe": "nextprobe",
    "fixed_order": "the trade's order",
    "perfect_knowledge": "perfect knowledge",
}

_MEASURES: dict[str, Callable[[Score], str]] = {
    "cost of a job [{currency}]": lambda found: f"{found.mean_cost:.1f} ± {found.half_width:.1f}",
    "work [min]": lambda found: f"{found.mean_minutes:.0f}",
    "steps": lambda found: f"{found.mean_steps:.1f}",
    "right repair": lambda found: (
        f"{100 * found.right.value:.0f} % "
        f"({100 * found.right.low:.0f} to {100 * found.right.high:.0f})"
    ),
    "wrong repairs": lambda found: str(found.wrong.count),
    "not closed": lambda found: str(found.declined.count),
    "modules sold in vain": lambda found: str(found.sold_in_vain),
    "devices wiped": lambda found: str(found.wiped),
}


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("rehearse")(rehearse)


def rehearse(
    pack: Annotated[str, typer.Argument(help="A demo pack, or the folder of a pack.")],
    devices: Annotated[int, typer.Option(min=1, help="How many simulated devices.")] = 200,
    complaint: Annotated[
        list[str] | None, typer.Option(help="Only this complaint; may be given again.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Which devices.")] = 0,
    effort: Annotated[int, typer.Option(min=0, help="Look-aheads for each step.")] = 30,
    processes: Annotated[int, typer.Option(min=1, help="How many to share the work.")] = 2,
    as_json: JsonOption = False,
) -> None:
    """Run a pack against simulated faults: our advice, the trade's order, perfect knowledge.

    Stop with Ctrl-C: what has been played by then is shown.
    """
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import Progress  # noqa: PLC0415

    from nextprobe.cli.session import Session  # noqa: PLC0415
    from nextprobe.errors import MisuseError  # noqa: PLC0415
    from nextprobe.job.shelf import shelf_from  # noqa: PLC0415
    from nextprobe.trials.rehearse import Plan  # noqa: PLC0415
    from nextprobe.trials.rehearse import rehearse as run  # noqa: PLC0415
    from nextprobe.trials.score import gap_closed, score  # noqa: PLC0415

    shelf, _ = shelf_from(pack)
    complaints = tuple(complaint or shelf.pack.functions)
    unknown = [word for word in complaints if word not in shelf.pack.functions]
    if unknown:
        known = ", ".join(shelf.pack.functions)
        raise MisuseError(f"'{unknown[0]}' is not a function of this device; it has: {known}")
    with Progress(console=Console(stderr=True), transient=True) as progress:
        bar = progress.add_task("devices", total=devices)

        def show(done: int) -> bool:
            progress.update(bar, completed=done)
            return True

        plan = Plan(complaints, devices, seed, effort)
        played = run(shelf, plan, processes=min(processes, os.cpu_count() or 1), progress=show)
    scores = {name: score(jobs) for name, jobs in played.items()}
    costs = {name: found.mean_cost for name, found in scores.items()}
    gap = gap_closed(costs["nextprobe"], costs["fixed_order"], costs["perfect_knowledge"])
    data = {
        "devices": len(played["nextprobe"]),
        "strategies": {name: _json(found) for name, found in scores.items()},
        "gap_closed": gap,
    }
    Session(as_json=as_json).answer(data, _shown(scores, gap, shelf.pack.costs.currency))


def _json(found: Score) -> dict[str, object]:
    return {
        "mean_cost": found.mean_cost,
        "ci95": [found.mean_cost - found.half_width, found.mean_cost + found.half_width],
        "mean_minutes": found.mean_minutes,
        "mean_steps": found.mean_steps,
        "right": found.right.value,
        "wrong_repairs": found.wrong.count,
        "declined": found.declined.count,
        "sold_in_vain": found.sold_in_vain,
        "wiped": found.wiped,
    }


def _shown(scores: dict[str, Score], gap: float | None, currency: str) -> list[RenderableType]:
    from nextprobe.cli.tables import line, table  # noqa: PLC0415

    shown = table("", *(_WORDS[name] for name in scores), numbers=(1, 2, 3))
    for measure, say in _MEASURES.items():
        shown.add_row(measure.format(currency=currency), *(say(found) for found in scores.values()))
    total = scores["nextprobe"].right.total
    words = [shown, line(f"{total} simulated devices; ± and intervals at 95 %.")]
    if gap is not None:
        told = f"Of what separates the trade's order from perfect knowledge: {100 * gap:.0f} %."
        words.append(line(told))
    return words
