"""Rehearsals: the same simulated devices under several strategies."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nextprobe.cli.options import JsonOption, look_aheads

if TYPE_CHECKING:
    from collections.abc import Callable

    from nextprobe.cli.rehearsal_file import RehearsalFile
    from nextprobe.cli.rehearsal_progress import Watched
    from nextprobe.trials.ready import Shelf
    from nextprobe.trials.rehearsal import Plan
    from nextprobe.trials.report import Report


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("rehearse")(rehearse)


def rehearse(
    pack: Annotated[str, typer.Argument(help="A demo pack, or the folder of a pack.")],
    *,
    devices: Annotated[int, typer.Option(min=1, help="How many simulated devices.")] = 200,
    complaint: Annotated[
        list[str] | None, typer.Option(help="Only this complaint; may be given again.")
    ] = None,
    strategies: Annotated[
        str, typer.Option(help="Which, with commas between; all if left out.", show_default=False)
    ] = "",
    seed: Annotated[int, typer.Option(min=0, help="Which devices.")] = 0,
    effort: Annotated[
        int,
        typer.Option(min=0, help="Look-aheads for each step.", default_factory=look_aheads),
    ],
    prices: Annotated[
        float, typer.Option(min=0.01, help="Factor on what work, parts and modules cost.")
    ] = 1.0,
    training: Annotated[
        int, typer.Option(min=1, help="Devices of each complaint to tune the static order on.")
    ] = 24,
    tries: Annotated[int, typer.Option(min=1, help="Orders to try for it.")] = 60,
    calibrate: Annotated[
        bool, typer.Option(help="Compare what is believed with what is true.")
    ] = True,
    resume: Annotated[
        Path | None, typer.Option(help="Keep each device in this file, and go on from there.")
    ] = None,
    world: Annotated[
        str, typer.Option(help="What devices are really like; see the page on rehearsal.")
    ] = "matched",
    plots: Annotated[Path | None, typer.Option(help="Folder for pictures (SVG).")] = None,
    progress: Annotated[
        Path | None, typer.Option(help="File that says how far it is, for another program.")
    ] = None,
    processes: Annotated[int, typer.Option(min=1, help="How many to share the work.")] = 2,
    as_json: JsonOption = False,
) -> None:
    """Run a pack against simulated faults: our advice, other strategies, perfect knowledge.

    Stop with Ctrl-C: what has been played by then is shown; with --resume it is kept as well.
    """
    from nextprobe.cli.rehearsal_file import InMemory, RehearsalFile  # noqa: PLC0415
    from nextprobe.cli.rehearsal_json import report_data  # noqa: PLC0415
    from nextprobe.cli.rehearsal_progress import Watched  # noqa: PLC0415
    from nextprobe.cli.rehearsal_tables import report_tables  # noqa: PLC0415
    from nextprobe.cli.session import Session  # noqa: PLC0415
    from nextprobe.cli.tables import line  # noqa: PLC0415
    from nextprobe.trials.report import report  # noqa: PLC0415

    opening = partial(_shelf, pack, prices, world)
    shelf = opening()
    plan = _plan(shelf, complaint, strategies, devices, seed, effort, training, tries, calibrate)
    kept = (InMemory if resume is None else RehearsalFile)(
        resume or Path(), _header(shelf, plan, prices)
    )
    kept.open()
    watched = Watched(progress)
    stopped = _play(shelf, plan, kept, watched, min(processes, os.cpu_count() or 1), opening)
    records = list(kept.upto(devices))
    if not records:
        typer.echo("Stopped before the first device was done.", err=True)
        raise typer.Exit(1)
    found = report(records)
    if plots is not None:
        _draw(found, shelf.pack.costs.currency, plots)
    data = {
        **report_data(found),
        "planned": devices,
        "stopped": stopped,
        **_header(shelf, plan, prices),
        "world": shelf.world.name,
        "best_static": _orders(kept),
    }
    words = list(report_tables(found, shelf.pack.costs.currency, kept.orders))
    if stopped:
        words.append(line(f"Stopped after {len(records)} of {devices} devices."))
    Session(as_json=as_json).answer(data, words)


def _shelf(pack: str, prices: float, world: str) -> Shelf:
    from dataclasses import replace  # noqa: PLC0415

    from nextprobe.errors import DataError  # noqa: PLC0415
    from nextprobe.job.shelf import shelf_from  # noqa: PLC0415
    from nextprobe.readers.ngspice import NGSPICE_MISSING, has_ngspice, run_ngspice  # noqa: PLC0415
    from nextprobe.trials.independent import world_named  # noqa: PLC0415
    from nextprobe.trials.prices import with_prices  # noqa: PLC0415

    chosen = world_named(world)
    if chosen.simulated and not has_ngspice():
        raise DataError([NGSPICE_MISSING])
    shelf, _ = shelf_from(pack)
    dearer = with_prices(shelf.pack, prices)
    return replace(shelf, pack=dearer, world=chosen, simulator=run_ngspice)


def _plan(
    shelf: Shelf,
    complaint: list[str] | None,
    strategies: str,
    devices: int,
    seed: int,
    effort: int,
    training: int,
    tries: int,
    calibrate: bool,
) -> Plan:
    from nextprobe.errors import MisuseError  # noqa: PLC0415
    from nextprobe.trials.rehearsal import Plan  # noqa: PLC0415
    from nextprobe.trials.strategies import NAMES  # noqa: PLC0415

    complaints = tuple(complaint or shelf.pack.functions)
    unknown = [word for word in complaints if word not in shelf.pack.functions]
    if unknown:
        known = ", ".join(shelf.pack.functions)
        raise MisuseError(f"'{unknown[0]}' is not a function of this device; it has: {known}")
    asked = [word.strip() for word in strategies.split(",") if word.strip()]
    wanted = tuple(dict.fromkeys(asked)) or NAMES
    return Plan(complaints, devices, seed, effort, wanted, training, tries, calibrate)


def _header(shelf: Shelf, plan: Plan, prices: float) -> dict[str, object]:
    """Return what the record of a device depends on."""
    from nextprobe import __version__  # noqa: PLC0415
    from nextprobe.trials.ready import shelf_digest  # noqa: PLC0415

    # Files that were begun before there were worlds are of the usual one, and can be gone on with.
    other = {} if shelf.world.name == "matched" else {"world": shelf.world.name}
    return {
        **other,
        "pack": shelf_digest(shelf),
        "version": __version__,
        "seed": plan.seed,
        "effort": plan.budget,
        "complaints": list(plan.complaints),
        "strategies_played": list(plan.strategies),
        "prices": prices,
        "training_devices": plan.training,
        "tries": plan.tries,
        "calibrated": plan.calibrate,
    }


def _orders(kept: RehearsalFile) -> dict[str, object]:
    from nextprobe.cli.rehearsal_file import order_data  # noqa: PLC0415

    return {
        "tuned_on": "devices of seeds of their own, which are never scored",
        "orders": {name: order_data(tuned) for name, tuned in kept.orders.items()},
    }


def _play(
    shelf: Shelf,
    plan: Plan,
    kept: RehearsalFile,
    watched: Watched,
    processes: int,
    opening: Callable[[], Shelf],
) -> bool:
    """Play what has not been played yet; tell whether somebody stopped it."""
    from nextprobe.trials.rehearsal import rehearse as run  # noqa: PLC0415

    crew: dict[str, Any] = {"processes": processes, "opening": opening}
    try:
        _tune(shelf, plan, kept, watched, crew)
        known = {name: tuned.order for name, tuned in kept.orders.items()}
        done = {record.number for record in kept.upto(plan.devices)}
        with watched.stage("playing devices", plan.devices, len(done)) as move:
            playing = run(shelf, plan, known, done=done, **crew)
            for count, record in enumerate(playing, len(done) + 1):
                kept.add(record)
                move(count, "")
    except KeyboardInterrupt:
        return True
    return False


def _tune(
    shelf: Shelf, plan: Plan, kept: RehearsalFile, watched: Watched, crew: dict[str, Any]
) -> None:
    """Tune the static orders that are missing, which may take longer than all devices."""
    from nextprobe.cli.rehearsal_progress import Tunings, most_orders  # noqa: PLC0415
    from nextprobe.trials.rehearsal import tuned_orders  # noqa: PLC0415

    wanted = set(plan.complaints) if plan.needs_orders else set()
    if wanted <= set(kept.orders):
        return
    each, finished = most_orders(plan), set(kept.orders) & wanted
    titles = {name: function.title for name, function in shelf.pack.functions.items()}
    stage = watched.stage("tuning static orders", each * len(wanted), each * len(finished))
    with stage as move:
        tunings = Tunings(plan, titles, move, finished)
        for complaint, tuned in tuned_orders(shelf, plan, kept.orders, hear=tunings.hear, **crew):
            kept.add_order(complaint, tuned)
            tunings.finish(complaint)


def _draw(found: Report, currency: str, folder: Path) -> None:
    from nextprobe.cli.charts import bars, calibration, histogram  # noqa: PLC0415
    from nextprobe.cli.rehearsal_tables import WORDS  # noqa: PLC0415
    from nextprobe.errors import DataError, Finding, Where  # noqa: PLC0415

    costs = {
        WORDS[name]: (score.cost.value, score.cost.low, score.cost.high)
        for name, score in found.scores.items()
    }
    pictures = {"costs": bars(f"Cost of a job, {found.devices} devices", costs, currency)}
    if found.overall is not None:
        pictures["calibration"] = calibration("Do chances come true?", found.overall.curve)
    if found.readings is not None:
        title = "Do readings lie where they were predicted?"
        places = found.readings.histogram
        pictures["readings"] = histogram(title, places, "place in the prediction")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, picture in pictures.items():
            (folder / f"{name}.svg").write_text(picture, "utf-8")
    except OSError as error:
        what = f"the pictures can not be written: {error.strerror}"
        raise DataError([Finding(what, Where(str(folder)), "choose another folder")]) from error
