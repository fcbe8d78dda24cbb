"""Pinouts and known-good readings as JSON, and exactly the same back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nextprobe.board import MeterMode, PinRow, PinTable, Role
from nextprobe.packs.known_good import KnownGood
from nextprobe.reference import MeasuredSpread
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.move_json import value_from_json, value_to_json


def pinout_to_json(table: PinTable) -> JsonValue:
    """Return the pins of a pinout as JSON."""
    return [_row_to_json(row) for row in table.rows]


def pinout_from_json(data: Sequence[Mapping[str, Any]]) -> PinTable:
    """Return the pinout that `pinout_to_json` has written."""
    return PinTable(tuple(_row_from_json(row) for row in data))


def known_good_to_json(rows: Sequence[KnownGood]) -> JsonValue:
    """Return known-good readings as JSON."""
    return [_good_to_json(row) for row in rows]


def known_good_from_json(data: Sequence[Mapping[str, Any]]) -> tuple[KnownGood, ...]:
    """Return the readings that `known_good_to_json` has written."""
    return tuple(
        KnownGood(
            row["point"],
            MeterMode(row["mode"]),
            value_from_json(row["value"]),
            row["boards"],
            row["source"],
            row["line"],
            MeasuredSpread(*row["spread"]) if "spread" in row else None,
        )
        for row in data
    )


def _good_to_json(row: KnownGood) -> JsonValue:
    written: dict[str, JsonValue] = {
        "point": row.point,
        "mode": row.mode.value,
        "value": value_to_json(row.value),
        "boards": row.boards,
        "source": row.source,
        "line": row.line,
    }
    if row.spread is None:
        return written
    return {**written, "spread": [row.spread.boards, row.spread.deviation, row.spread.degrees]}


def _row_to_json(row: PinRow) -> JsonValue:
    return {
        "connector": row.connector,
        "pin": row.pin,
        "name": row.name,
        "good": None if row.good is None else value_to_json(row.good),
        "role": None if row.role is None else row.role.value,
        "line": row.line,
    }


def _row_from_json(data: Mapping[str, Any]) -> PinRow:
    good, role = data["good"], data["role"]
    return PinRow(
        data["connector"],
        data["pin"],
        data["name"],
        None if good is None else value_from_json(good),
        None if role is None else Role(role),
        data["line"],
    )
