"""A board as JSON, and exactly the same board back."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from nextprobe.board import Board, Part, PartKind, Path, Role, Side
from nextprobe.workbench.canonical import JsonValue, canonical_json
from nextprobe.workbench.pin_json import pin_from_json, pin_to_json


def board_to_json(board: Board) -> JsonValue:
    """Return a board as JSON; pins and roles are lists, so that their order is kept.

    What nobody has said of a place is left out, so that a board without places is written as it
    was before boards had any.
    """
    data: dict[str, JsonValue] = {
        "name": board.name,
        "parts": [_part_to_json(part) for part in board.parts],
        "roles": [[net, role.value] for net, role in board.roles.items()],
    }
    if board.outline:
        data["outline"] = [_path_to_json(path) for path in board.outline]
    return data


def board_from_json(data: Mapping[str, Any]) -> Board:
    """Return the board that `board_to_json` has written."""
    parts = tuple(_part_from_json(part) for part in data["parts"])
    roles = {net: Role(word) for net, word in data["roles"]}
    return Board(data["name"], parts, roles, tuple(map(path_from_json, data.get("outline", ()))))


def board_digest(board: Board | None) -> str:
    """Return the SHA-256 of what is known of a board, in hexadecimal; empty for nothing."""
    if board is None:
        return ""
    return hashlib.sha256(canonical_json(board_to_json(board)).encode()).hexdigest()


def _path_to_json(path: Path) -> JsonValue:
    return [[x, y] for x, y in path]


def path_from_json(data: Sequence[Sequence[float]]) -> Path:
    """Return a path that was written as a list of points."""
    return tuple((x, y) for x, y in data)


def _part_to_json(part: Part) -> JsonValue:
    data: dict[str, JsonValue] = {
        "reference": part.reference,
        "kind": part.kind.value,
        "pins": [pin_to_json(pin) for pin in part.pins],
        "value": part.value,
        "note": part.note,
        "position": None if part.position is None else list(part.position),
        "implied": part.implied,
    }
    if not part.fitted:
        data["fitted"] = False
    if part.side is not None:
        data["side"] = part.side.value
    if part.rotation:
        data["rotation"] = part.rotation
    if part.outline:
        data["outline"] = _path_to_json(part.outline)
    return data


def _part_from_json(data: Mapping[str, Any]) -> Part:
    position = data["position"]
    return Part(
        data["reference"],
        PartKind(data["kind"]),
        tuple(pin_from_json(pin) for pin in data["pins"]),
        data["value"],
        data["note"],
        None if position is None else (position[0], position[1]),
        data["implied"],
        data.get("fitted", True),
        Side(data["side"]) if "side" in data else None,
        data.get("rotation", 0.0),
        path_from_json(data.get("outline", ())),
    )
