"""Records of known-good boards as JSON, and exactly the same back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from nextprobe.reference import GoodBoard
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.move_json import (
    setup_from_json,
    setup_to_json,
    value_from_json,
    value_to_json,
)


def good_board_to_json(board: GoodBoard) -> dict[str, JsonValue]:
    """Return a record as JSON; over-range is a word, never a number."""
    return {
        "device": board.device,
        "label": board.label,
        "meter": board.meter,
        "measured_by": board.measured_by,
        "measured_on": None if board.measured_on is None else board.measured_on.isoformat(),
        "source": board.source,
        "setup": setup_to_json(board.setup),
        "readings": [[point, value_to_json(value)] for point, value in board.readings],
    }


def good_board_from_json(data: Mapping[str, Any], number: int) -> GoodBoard:
    """Return the record that `good_board_to_json` has written, with its number.

    Raises
    ------
    KeyError, TypeError, ValueError, NextprobeError
        If something else was written.
    """
    day = data["measured_on"]
    return GoodBoard(
        data["device"],
        data["label"],
        tuple((point, value_from_json(value)) for point, value in data["readings"]),
        setup_from_json(data["setup"]),
        data["meter"],
        data["measured_by"],
        None if day is None else date.fromisoformat(day),
        data["source"],
        number,
    )
