"""Published scores, and the tables of them in the documentation."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from frozen_bench.files import HOME, read, write
from frozen_bench.tables import checkpoints_table, devices_table, planning_table, worst_table

SCORES = "scores.json"
PAGE = HOME.parents[1] / "docs" / "benchmark.md"
OURS = "nextprobe"


def publish(method: str, found: Mapping[str, Any], page: Path = PAGE) -> None:
    """Keep the scores of a method, and renew the tables in the documentation."""
    scores = read(SCORES, HOME) if (HOME / SCORES).exists() else {}
    scores[method] = _rounded(found)
    write(SCORES, scores, HOME)
    if page.exists():
        page.write_text(with_tables(page.read_text("utf-8"), scores), "utf-8")


def with_tables(text: str, scores: Mapping[str, Any]) -> str:
    """Return a page with the tables between its marks renewed."""
    tables = {
        "planning": planning_table(scores),
        "devices": devices_table(scores),
        "checkpoints": checkpoints_table(scores),
    }
    if "worst" in scores.get(OURS, {}):
        tables |= {f"worst {name}": worst_table(scores[OURS], name) for name in ("swap",)}
    for name, found in tables.items():
        begin, end = re.escape(f"<!-- {name} -->"), re.escape(f"<!-- end of {name} -->")
        text = re.sub(
            f"({begin}).*?({end})",
            lambda marks, found=found: f"{marks[1]}\n{found}\n{marks[2]}",  # type: ignore[misc]
            text,
            flags=re.DOTALL,
        )
    return text


def _rounded(data: Any) -> Any:
    """Return scores with as many digits as mean anything."""
    if isinstance(data, float):
        return float(f"{data:.5g}")
    if isinstance(data, Mapping):
        return {name: _rounded(each) for name, each in data.items()}
    if isinstance(data, list):
        return [_rounded(each) for each in data]
    return data
