"""A pack, its board and its known-good readings as plain data, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nextprobe.board import OVER_RANGE, Board, MeterMode, OverRange, Part, PartKind, Pin, Role
from nextprobe.diagnosis import Reference
from nextprobe.packs.schema import Pack

References = Mapping[tuple[str, MeterMode], Reference]
OVER = "OL"
_LEFT_OUT = {"provenance", "jobs"}


def pack_data(pack: Pack) -> dict[str, Any]:
    """Return a pack with every default filled in, without its ready-made jobs."""
    found: dict[str, Any] = pack.model_dump(mode="json", exclude=_LEFT_OUT)
    return found


def pack_from(data: Mapping[str, Any]) -> Pack:
    """Return the pack again."""
    return Pack.model_validate(data)


def board_data(board: Board) -> dict[str, Any]:
    """Return what a circuit depends on, and where parts lie."""
    return {
        "name": board.name,
        "roles": {net: role.value for net, role in board.roles.items()},
        "parts": [_part_data(part) for part in board.parts],
    }


def _part_data(part: Part) -> dict[str, Any]:
    found: dict[str, Any] = {
        "reference": part.reference,
        "kind": part.kind.value,
        "value": part.value,
        "note": part.note,
        "position": part.position,
        "implied": part.implied,
        "fitted": part.fitted,
        "pins": [[pin.number, pin.net, pin.supply] for pin in part.pins],
    }
    usual = {"value": None, "note": "", "position": None, "implied": False, "fitted": True}
    return {name: each for name, each in found.items() if name not in usual or each != usual[name]}


def board_from(data: Mapping[str, Any]) -> Board:
    """Return the board again."""
    roles = {net: Role(role) for net, role in data["roles"].items()}
    return Board(data["name"], tuple(_part_from(part) for part in data["parts"]), roles)


def _part_from(data: Mapping[str, Any]) -> Part:
    where = data.get("position")
    return Part(
        data["reference"],
        PartKind(data["kind"]),
        tuple(Pin(number, net, supply) for number, net, supply in data["pins"]),
        data.get("value"),
        data.get("note", ""),
        None if where is None else (where[0], where[1]),
        data.get("implied", False),
        data.get("fitted", True),
    )


def reading_data(value: float | OverRange) -> float | str:
    """Return a reading as it is written: a number, or ``OL`` for over-range."""
    return OVER if isinstance(value, OverRange) else float(f"{value:.6g}")


def reading_from(value: float | str) -> float | OverRange:
    """Return a reading again."""
    return OVER_RANGE if isinstance(value, str) else value


def known_good_data(references: References) -> list[list[Any]]:
    """Return rows of point, mode, mean reading, number of boards."""
    return [
        [point, mode.value, reading_data(each.value), each.boards]
        for (point, mode), each in references.items()
    ]


def known_good_from(rows: Sequence[Sequence[Any]]) -> dict[tuple[str, MeterMode], Reference]:
    """Return known-good readings again."""
    return {
        (point, MeterMode(mode)): Reference(
            reading_from(value), boards, f"mean of {boards} known-good boards"
        )
        for point, mode, value, boards in rows
    }
