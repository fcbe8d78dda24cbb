"""The demo: whole jobs on a simulated bench, watched, played or counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import EffortOption, JsonOption, look_aheads
from nextprobe.errors import MisuseError

if TYPE_CHECKING:
    from rich.console import Console

    from nextprobe.job.shelf import PlayedJob
    from nextprobe.trials.play import Played
    from nextprobe.trials.ready import Shelf
    from nextprobe.workbench.steps import StepRecord

_DEFAULT = "stale"
_OFFERED = 6
_MOST_STEPS = 60
_QUESTION = "Which step? (number, ?number why, a all, q stop) [1]: "

PackOption = Annotated[str, typer.Option("--pack", help="A demo pack, or the folder of a pack.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("demo")(demo)


def demo(
    name: Annotated[str, typer.Argument(help="Which ready-made job.")] = _DEFAULT,
    *,
    pack: PackOption = "courier-handheld",
    seed: Annotated[int, typer.Option(help="Which device of its kind.")] = 1,
    play: Annotated[bool, typer.Option("--play", help="You choose the steps.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="Run every ready-made job.")] = False,
    web: Annotated[bool, typer.Option("--web", help="Play it in a browser.")] = False,
    effort: EffortOption,
    as_json: JsonOption = False,
) -> None:
    """Watch a whole job on a simulated bench, with reasons; or play the technician."""
    if web:
        if everything or as_json:
            raise MisuseError("--web is for one job and one person: leave out --all and --json")
        _in_browser(pack, name, seed)
        return
    from nextprobe.job.shelf import shelf_from  # noqa: PLC0415

    shelf, _ = shelf_from(pack)
    if play and (everything or as_json):
        raise MisuseError("--play is for one job and one person: leave out --all and --json")
    if everything or as_json:
        names = list(shelf.pack.jobs) if everything else [name]
        _counted(shelf, {each: _run(shelf, each, seed, effort) for each in names}, as_json)
        return
    from rich.console import Console  # noqa: PLC0415

    tell(Console(highlight=False), shelf, pack, name, seed=seed, effort=effort, playing=play)


def _in_browser(pack: str, name: str, seed: int) -> None:
    """Serve the bench from the usual folder of jobs, and open the demo job on it."""
    from urllib.parse import urlencode  # noqa: PLC0415

    from nextprobe.cli.serve import opened  # noqa: PLC0415
    from nextprobe.job.start import named_folder  # noqa: PLC0415
    from nextprobe.readers.pack_folder import read_pack_folder  # noqa: PLC0415
    from nextprobe.trials.ready import ready_job  # noqa: PLC0415

    contents, _ = read_pack_folder(named_folder(pack))
    if contents is not None:
        ready_job(contents.pack, name)
    opened("?" + urlencode({"play": name, "pack": pack, "seed": seed}))


def _run(shelf: Shelf, name: str, seed: int, effort: int) -> Played:
    from nextprobe.trials.play import play  # noqa: PLC0415
    from nextprobe.trials.ready import job_device, open_job  # noqa: PLC0415
    from nextprobe.trials.strategies import Advised  # noqa: PLC0415

    case = open_job(shelf, name)
    return play(case, job_device(shelf, case, name, seed), Advised(effort))


def _counted(shelf: Shelf, played: dict[str, Played], as_json: bool) -> None:
    from nextprobe.cli.session import Session, print_json  # noqa: PLC0415
    from nextprobe.cli.tables import table  # noqa: PLC0415

    currency = shelf.pack.costs.currency
    rows = [
        {
            "name": name,
            "steps": len(job.steps),
            "minutes": round(job.cost.attended / 60.0, 2),
            "cost": round(job.price, 2),
            "right_repair": job.right_repair,
        }
        for name, job in played.items()
    ]
    if as_json:
        print_json({"jobs": rows})
        return
    shown = table("job", "steps", "minutes", f"cost [{currency}]", "repair", numbers=(1, 2, 3))
    for row, job in zip(rows, played.values(), strict=True):
        verdict = "right" if job.right_repair else f"not right ({job.ending})"
        cost, minutes = f"{job.price:.2f}", f"{job.cost.attended / 60.0:.0f}"
        shown.add_row(str(row["name"]), str(row["steps"]), minutes, cost, verdict)
    Session().answer({"jobs": rows}, [shown])


def tell(
    console: Console,
    shelf: Shelf,
    pack: str,
    name: str = _DEFAULT,
    *,
    seed: int = 1,
    effort: int | None = None,
    playing: bool = False,
) -> None:
    """Tell a job step by step; it runs through the same records as a real one.

    Parameters
    ----------
    console : Console
        Where to.
    shelf : Shelf
        Of the pack.
    pack : str
        A demo pack, or the folder of a pack.
    name : str
        Which ready-made job.
    seed : int
        Which device of its kind.
    effort : int or None
        How far to look ahead; None as far as anybody does.
    playing : bool
        Whether somebody at the terminal chooses the steps.
    """
    from nextprobe.cli import story  # noqa: PLC0415
    from nextprobe.job.shelf import start_played  # noqa: PLC0415
    from nextprobe.trials.ready import ready_job  # noqa: PLC0415

    effort = look_aheads() if effort is None else effort
    ready, device = ready_job(shelf.pack, name), shelf.pack.device
    title = shelf.pack.functions[ready.complaint].title
    console.print(story.opening(device.name, device.maker, ready.says, title, ready.history))
    with console.status("computing what every reading should be"):
        played = start_played(shelf, name, seed, pack)
        played.job.next_steps(1, effort)
    console.print(story.suspects(played.job.suspects(4)))
    for number in range(1, _MOST_STEPS + 1):
        if not _one_step(console, shelf, played, number, effort, playing):
            break
    finished = played.job.so_far.closing is not None
    console.print(story.ending(played.account(), finished, shelf.pack.costs.currency))
    console.print(story.answer(played.truth(), ready.lesson))


def _one_step(
    console: Console, shelf: Shelf, played: PlayedJob, number: int, effort: int, playing: bool
) -> bool:
    """Take one step; False when the job has ended or the player has had enough."""
    from nextprobe.cli import story  # noqa: PLC0415

    currency = shelf.pack.costs.currency
    with console.status("weighing what to do next"):
        found = played.job.next_steps(None if playing else 1, effort)
    chosen = _chosen(console, found, currency) if playing else found[0]
    if chosen is None:
        return False
    console.print(story.step(number, chosen, currency))
    played.take(chosen)
    if chosen.kind == "end":
        return False
    console.print(story.outcome(played.steps[-1].moves, played.job.remarks()))
    console.print(story.suspects(played.job.suspects(4)))
    return True


def _chosen(console: Console, found: tuple[StepRecord, ...], currency: str) -> StepRecord | None:
    """Ask the player; None if they have had enough, or nobody is there to answer."""
    from nextprobe.cli import story  # noqa: PLC0415

    console.print()
    console.print(story.choices(found[:_OFFERED], currency))
    while True:
        console.print(_QUESTION, end="", markup=False)
        try:
            word = input().strip().lower() or "1"
        except EOFError:
            console.print()
            return None
        if word in ("q", "quit"):
            return None
        explain, number = word.startswith("?"), word.removeprefix("?").strip() or "1"
        if word == "a":
            console.print(story.choices(found, currency))
        elif not (number.isdecimal() and 1 <= int(number) <= len(found)):
            console.print(f"There is no step '{word}': give a number from 1 to {len(found)}.")
        elif explain:
            console.print(story.step(int(number), found[int(number) - 1], currency))
        else:
            return found[int(number) - 1]
