"""The command that shows what was understood of a board file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.loading import load_board
from nextprobe.cli.options import JsonOption
from nextprobe.cli.session import Session
from nextprobe.errors import DataError, Finding, MisuseError, Where

if TYPE_CHECKING:
    from nextprobe.board import Understanding

_DRAWN = "pads of {} are laid out by kind of part: only the place of the part is known"


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command("board")(show_board)


def show_board(
    file: Annotated[Path, typer.Argument(help="Board file, file of chains, or pack folder.")],
    *,
    nets: Annotated[bool, typer.Option("--nets", help="List every net, with its role.")] = False,
    parts: Annotated[bool, typer.Option("--parts", help="List every part.")] = False,
    search: Annotated[
        str, typer.Option(help="List nets and parts with this in a name, value or pin.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--map", help="Write a map of both sides as SVG.")
    ] = None,
    highlight: Annotated[
        str | None, typer.Option(help="Net, part or pin that stands out on the map.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show what was understood of a board, and what was not."""
    from nextprobe.board import understand  # noqa: PLC0415
    from nextprobe.cli import board_tables  # noqa: PLC0415

    if highlight is not None and out is None:
        raise MisuseError("--highlight needs --map OUT.svg")
    board, findings = load_board(file)
    found = understand(board)
    listed_nets = board_tables.net_rows(found, search) if nets or search else []
    listed_parts = board_tables.part_rows(found, search) if parts or search else []
    data: dict[str, object] = {"board": board_tables.summary(found)}
    shown = [] if search else list(board_tables.summary_shown(found))
    if nets or search:
        data["nets"] = listed_nets
        shown += board_tables.nets_shown(listed_nets)
    if parts or search:
        data["parts"] = listed_parts
        shown += board_tables.parts_shown(listed_parts)
    if search and not listed_nets and not listed_parts:
        shown.append(board_tables.said(f"no net and no part has '{search}' in it"))
    if out is not None:
        remark = _write_map(found, out, highlight)
        data |= {"map": str(out), "pads_drawn": bool(remark)}
        shown.append(board_tables.said(f"the map is in {out}"))
        shown += [board_tables.said(remark)] if remark else []
    Session(as_json=as_json).answer(data, shown, findings)


def _write_map(found: Understanding, out: Path, highlight: str | None) -> str:
    """Write the map, and return what is to be known of it."""
    from nextprobe.board.standing import standing_pads, with_standing_pads  # noqa: PLC0415
    from nextprobe.drawing import board_map  # noqa: PLC0415

    drawn = len({pin.rpartition(".")[0] for pin in standing_pads(found.board)})
    if not (found.has_places or drawn):
        raise MisuseError(
            f"nobody has said where the parts of {found.board.name} are, so there is no map; "
            "--nets lists its nets"
        )
    if highlight is not None and found.ground == highlight:
        highlight = "GND"
    remark = _DRAWN.format("1 part" if drawn == 1 else f"{drawn} parts") if drawn else ""
    picture = board_map(with_standing_pads(found.board), highlight, remark=remark)
    try:
        out.write_text(picture, "utf-8")
    except OSError as error:
        what = f"can not be written: {error.strerror}"
        raise DataError([Finding(what, Where(str(out)))]) from error
    return remark
