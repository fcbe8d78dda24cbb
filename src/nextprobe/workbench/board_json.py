"""A board as JSON, and exactly the same board back."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from nextprobe.board import Board, Part, PartKind, Pin, Role
from nextprobe.workbench.canonical import JsonValue, canonical_json


def board_to_json(board: Board) -> JsonValue:
    """Return a board as JSON; pins and roles are lists, so that their order is kept."""
    return {
        "name": board.name,
        "parts": [_part_to_json(part) for part in board.parts],
        "roles": [[net, role.value] for net, role in board.roles.items()],
    }


def board_from_json(data: Mapping[str, Any]) -> Board:
    """Return the board that `board_to_json` has written."""
    parts = tuple(_part_from_json(part) for part in data["parts"])
    return Board(data["name"], parts, {net: Role(word) for net, word in data["roles"]})


def board_digest(board: Board | None) -> str:
    """Return the SHA-256 of what is known of a board, in hexadecimal; empty for nothing."""
    if board is None:
        return ""
    return hashlib.sha256(canonical_json(board_to_json(board)).encode()).hexdigest()


def _part_to_json(part: Part) -> JsonValue:
    return {
        "reference": part.reference,
        "kind": part.kind.value,
        "pins": [[pin.number, pin.net, pin.supply] for pin in part.pins],
        "value": part.value,
        "note": part.note,
        "position": None if part.position is None else list(part.position),
        "implied": part.implied,
    }


def _part_from_json(data: Mapping[str, Any]) -> Part:
    position = data["position"]
    return Part(
        data["reference"],
        PartKind(data["kind"]),
        tuple(Pin(number, net, supply) for number, net, supply in data["pins"]),
        data["value"],
        data["note"],
        None if position is None else (position[0], position[1]),
        data["implied"],
    )
