"""Commands for device packs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nextprobe.cli import pack_new
from nextprobe.cli.options import JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import DataError


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("packs")(list_packs)
    pack = typer.Typer(no_args_is_help=True, help="Write and check a device pack.")
    pack.callback()(lambda: None)
    pack.command("check")(check)
    pack.command("new")(pack_new.new)
    app.add_typer(pack, name="pack")


def list_packs(as_json: JsonOption = False) -> None:
    """List the demo packs and the templates."""
    from nextprobe.cli.tables import heading, line, table  # noqa: PLC0415
    from nextprobe.packs import FunctionClass  # noqa: PLC0415
    from nextprobe.readers.pack_folder import (  # noqa: PLC0415
        demo_pack_folder,
        list_demo_packs,
        read_pack_folder,
    )

    packs = []
    shown = table("demo pack", "device", "functions", "jobs to learn from")
    for name in list_demo_packs():
        contents, _ = read_pack_folder(demo_pack_folder(name))
        if contents is not None:
            pack = contents.pack
            jobs = {job: ready.title for job, ready in pack.jobs.items()}
            row = {
                "name": name,
                "device": pack.device.name,
                "functions": list(pack.functions),
                "jobs": jobs,
            }
            packs.append(row)
            shown.add_row(name, pack.device.name, ", ".join(pack.functions), ", ".join(jobs))
    templates = [kind.value for kind in FunctionClass]
    words = [heading("Demo packs"), shown, line(f"templates: {', '.join(templates)}")]
    Session(as_json=as_json).answer({"packs": packs, "templates": templates}, words)


def check(
    folder: Annotated[Path, typer.Argument(help="The folder with device.yaml in it.")],
    as_json: JsonOption = False,
) -> None:
    """Read a pack folder and say all that is wrong with it."""
    from nextprobe.cli.say import say_count  # noqa: PLC0415
    from nextprobe.cli.tables import line  # noqa: PLC0415
    from nextprobe.readers.pack_folder import read_pack_folder  # noqa: PLC0415

    contents, findings = read_pack_folder(folder)
    if contents is None:
        raise DataError(findings)
    pack, board = contents.pack, contents.board
    summary = {
        "device": pack.device.name,
        "hash": contents.hash,
        "functions": list(pack.functions),
        "modules": list(pack.modules),
        "parts": len(board.parts) if board else 0,
        "nets": len(board.nets) if board else 0,
        "known_good": len(contents.known_good),
    }
    verdict = say_count(len(findings), "finding") if findings else "nothing is wrong with it"
    words = line(
        f"{pack.device.name}: {say_count(len(pack.functions), 'function')}, "
        f"{summary['parts']} parts, {summary['known_good']} known-good readings; {verdict}"
    )
    Session(as_json=as_json).answer({"pack": summary}, [words], findings)
