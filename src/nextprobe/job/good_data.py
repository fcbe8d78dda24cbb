"""Known-good boards as plain data, for pages and programs."""

from __future__ import annotations

import math
from typing import Any

from nextprobe.board import BenchSetup
from nextprobe.errors import Finding
from nextprobe.job.good_boards import at_most
from nextprobe.job.good_rows import misfit_finding
from nextprobe.job.good_shelf import GoodShelf, PointSummary
from nextprobe.reference import Fit, GoodBoard, Tightness

Row = dict[str, Any]


def record_row(record: GoodBoard) -> Row:
    """Return a record without its readings."""
    return {
        "number": record.number,
        "label": record.label,
        "readings": len(record.readings),
        "setup": record.setup,
        "meter": record.meter,
        "measured_by": record.measured_by,
        "measured_on": record.measured_on,
        "source": record.source,
    }


def record_rows(shelf: GoodShelf) -> list[Row]:
    """Return the records of a device, each with the reading that is farthest from the others."""
    farthest: dict[int | None, Fit] = {}
    for fit in shelf.fits:
        farthest.setdefault(fit.number, fit)
    return [
        {**record_row(record), "farthest": _fit_row(farthest.get(record.number))}
        for record in shelf.boards.records
    ]


def misfit_rows(shelf: GoodShelf) -> list[Row | None]:
    """Return the readings that do not fit those of the other boards."""
    return [_fit_row(fit) for fit in shelf.fits if fit.is_odd]


def misfit_findings(shelf: GoodShelf) -> tuple[Finding, ...]:
    """Say which boards do not fit the others."""
    return at_most([misfit_finding(fit) for fit in shelf.fits if fit.is_odd])


def _fit_row(fit: Fit | None) -> Row | None:
    if fit is None:
        return None
    return {
        "label": fit.label,
        "number": fit.number,
        "point": fit.point,
        "value": fit.value,
        "expected": fit.expected,
        "deviation": fit.deviation,
        "score": None if math.isinf(fit.score) else fit.score,
        "is_odd": fit.is_odd,
    }


def summary_row(found: PointSummary) -> Row:
    """Return the prediction at a point."""
    return {
        "point": found.point,
        "setup": found.bench,
        "boards": found.boards,
        "pack_boards": found.pack_boards,
        **_tight_row(found.now),
    }


def _tight_row(found: Tightness) -> Row:
    return {
        "mean": found.mean,
        "standard_uncertainty": found.deviation,
        "low": found.low,
        "high": found.high,
        "over_range": found.over_range,
        "degrees": found.degrees,
    }


def point_row(shelf: GoodShelf, point: str, bench: BenchSetup) -> Row:
    """Return all that is known of a point in a set-up."""
    row = shelf.row(point, bench)
    return {
        **summary_row(shelf.summary(point, bench)),
        "readings": [
            {
                "label": record.label,
                "number": record.number,
                "value": record.values[point],
                "source": record.source,
                "measured_on": record.measured_on,
            }
            for record in shelf.boards.behind(point, bench).values()
        ],
        "pack": None
        if row is None
        else {"value": row.value, "boards": row.boards, "source": row.source},
        "by_number": [
            {"boards": each.boards, "ahead": each.ahead, **_tight_row(each)}
            for each in shelf.tightening(point, bench)
        ],
        "in_job": shelf.in_job(point, bench),
    }
