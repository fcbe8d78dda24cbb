"""Starting, listing and showing jobs."""

from __future__ import annotations

from typing import Annotated

import typer

from nextprobe.cli.options import HomeOption, JobOption, JsonOption
from nextprobe.cli.session import Session, current_job, remember


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(start)
    app.command("jobs")(list_jobs)
    app.command()(show)


def start(
    pack: Annotated[
        str | None, typer.Argument(help="Pack folder, or the name of a demo pack.")
    ] = None,
    *,
    template: Annotated[
        str | None, typer.Option(help="Class of function, where there is no pack: camera, touch, …")
    ] = None,
    device: Annotated[str, typer.Option(help="What the device is called.")] = "",
    complaint: Annotated[str, typer.Option(help="The function that fails.")] = "",
    says: Annotated[str, typer.Option(help="What the customer says.")] = "",
    history: Annotated[
        list[str] | None,
        typer.Option(help="What happened to it: drop, liquid, …; may be repeated."),
    ] = None,
    may_wipe: Annotated[bool, typer.Option(help="Data may be lost.")] = False,
    may_unpair: Annotated[bool, typer.Option(help="Pairings may be lost for good.")] = False,
    ceiling: Annotated[float | None, typer.Option(help="The most that may be charged.")] = None,
    name: Annotated[str | None, typer.Option("--name", help="What the job is called.")] = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Start a job: a device has come in."""
    from nextprobe.job import Job  # noqa: PLC0415

    session = Session(home, None, as_json)
    store = session.store()
    job = Job.start(
        pack,
        template=template,
        device=device,
        complaint=complaint,
        says=says,
        history=history or (),
        may_wipe=may_wipe,
        may_unpair=may_unpair,
        ceiling=ceiling,
        store=store,
        job_id=name,
        tables=session.tables(),
    )
    remember(store.path.parent, job.job_id)
    from nextprobe.cli.tables import heading, line  # noqa: PLC0415

    shown = [
        heading(f"{job.job_id}: {job.so_far.intake.device}, {job.so_far.intake.complaint}"),
        line(f"what is known: {job.overview().knowledge}", 2),
        line("nextprobe next says what to do", 2),
    ]
    session.answer({"job": job.job_id, "overview": job.overview()}, shown, job.started_with)


def list_jobs(home: HomeOption = None, as_json: JsonOption = False) -> None:
    """List all jobs."""
    session = Session(home, None, as_json)
    store = session.store()
    current = current_job(store.path.parent)
    rows = [
        {
            "job": row.job_id,
            "title": row.title,
            "events": row.events,
            "current": row.job_id == current,
        }
        for row in store.jobs()
    ]
    from nextprobe.cli.tables import table  # noqa: PLC0415

    shown = table("job", "device and complaint", "events", "", numbers=(2,))
    for row in rows:
        mark = "current" if row["current"] else ""
        shown.add_row(str(row["job"]), str(row["title"]), str(row["events"]), mark)
    session.answer({"jobs": rows}, [shown])


def show(
    *,
    job: JobOption = None,
    log: Annotated[bool, typer.Option("--log", help="Show every event, corrections too.")] = False,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show where a job stands."""
    session = Session(home, job, as_json)
    opened = session.job()
    overview, entries = opened.overview(), opened.history()
    kept = entries if log else tuple(entry for entry in entries if entry.stands)
    from nextprobe.cli.job_tables import overview_shown  # noqa: PLC0415

    data = {"job": opened.job_id, "overview": overview, "events": kept}
    session.answer(data, overview_shown(opened.job_id, overview, kept), opened.findings())
