"""Values and kinds of parts against a key labelled by hand.

Source: the strings on the boards of Debian's kicad-demos 9.0.8 (GPL-2+), labelled by hand in
``benchmarks/data/value_key.csv``; the half called held-out before any parser had read it.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from nextprobe.board import Classified, classify

KEY = Path(__file__).parents[2] / "benchmarks" / "data" / "value_key.csv"
ROWS = list(csv.DictReader(KEY.read_text("utf-8").splitlines()))


def found(row: dict[str, str]) -> Classified:
    return classify(row["part"], row["text"], ["?"] * int(row["pins"]), row["footprint"])


def half(split: str) -> list[dict[str, str]]:
    return [row for row in ROWS if row["split"] == split]


def is_wrong(row: dict[str, str]) -> bool:
    value, stated = found(row).value, row["value"]
    if value is None:
        return False
    return not stated or not math.isclose(value, float(stated), rel_tol=1e-9)


def test_the_key_is_large_enough_to_tell() -> None:
    assert len({row["text"] for row in ROWS}) >= 300
    assert len(half("held-out")) >= 250


@pytest.mark.parametrize("split", ["tuned", "held-out"])
def test_no_value_is_wrong_in_silence(split: str) -> None:
    assert [row["text"] for row in half(split) if is_wrong(row)] == []


@pytest.mark.parametrize("split", ["tuned", "held-out"])
def test_most_values_are_read(split: str) -> None:
    stated = [row for row in half(split) if row["value"]]
    read = [row for row in stated if found(row).value is not None]
    assert len(read) >= 0.98 * len(stated)


@pytest.mark.parametrize("split", ["tuned", "held-out"])
def test_most_kinds_are_told(split: str) -> None:
    right = [row for row in half(split) if found(row).guess.kind.value == row["kind"]]
    assert len(right) >= 0.95 * len(half(split))
