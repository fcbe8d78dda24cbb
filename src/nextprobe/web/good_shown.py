"""What is sent of known-good boards."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from nextprobe.board import BenchSetup, OverRange
from nextprobe.job.good_shelf import GoodShelf, InJob
from nextprobe.reference import Fit, GoodBoard, Tightness
from nextprobe.web.shapes import many, maybe, shape, shape_of

_VALUE = float | OverRange

FitShown = shape(
    "Fit",
    "A reading of a board against what the other boards predict.",
    label=str,
    number=maybe(int),
    point=str,
    value=_VALUE,
    expected=_VALUE,
    deviation=(maybe(float), "standard uncertainty of the difference [V, ohm or F]"),
    score=(maybe(float), "in standard uncertainties; null for another state"),
    is_odd=(bool, "whether it does not fit"),
)
RecordShown = shape(
    "GoodBoard",
    "A record of a known-good board.",
    number=maybe(int),
    label=str,
    readings=(int, "how many"),
    setup=shape_of(BenchSetup),
    meter=str,
    measured_by=str,
    measured_on=maybe(date),
    source=str,
    farthest=(maybe(FitShown), "its reading that is farthest from the other boards"),
)
_TIGHT: dict[str, Any] = {
    "mean": maybe(float),
    "standard_uncertainty": (maybe(float), "of one more board, meter included [V, ohm or F]"),
    "low": (maybe(float), "lower end of 95 % [V, ohm or F]"),
    "high": (maybe(float), "upper end of 95 % [V, ohm or F]"),
    "over_range": (float, "chance of over-range"),
    "degrees": (maybe(float), "degrees of freedom behind the uncertainty"),
}
TightShown = shape(
    "Tightness",
    "What one more good board should read, by how many are kept.",
    boards=int,
    ahead=(bool, "whether it is what more boards promise"),
    **_TIGHT,
)
BoardReading = shape(
    "BoardReading",
    "What one board read.",
    label=str,
    number=maybe(int),
    value=_VALUE,
    source=str,
    measured_on=maybe(date),
)
PackReading = shape("PackReading", "What the pack says.", value=_VALUE, boards=int, source=str)
PointShown = shape(
    "GoodPoint",
    "What one more good board should read at a point.",
    point=str,
    setup=shape_of(BenchSetup),
    boards=(int, "boards kept here that were measured"),
    pack_boards=(int, "boards behind the reading of the pack"),
    **_TIGHT,
    readings=many(BoardReading),
    pack=maybe(PackReading),
    by_number=many(TightShown),
    in_job=(maybe(shape_of(InJob)), "what a job that is started now expects"),
)


def record_row(record: GoodBoard, farthest: Fit | None = None) -> dict[str, Any]:
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
        "farthest": None if farthest is None else fit_row(farthest),
    }


def record_rows(shelf: GoodShelf) -> list[dict[str, Any]]:
    """Return the records of a device, each with its reading that is farthest from the others."""
    farthest: dict[int | None, Fit] = {}
    for fit in shelf.fits:
        farthest.setdefault(fit.number, fit)
    return [record_row(record, farthest.get(record.number)) for record in shelf.boards.records]


def fit_row(fit: Fit) -> dict[str, Any]:
    """Return a reading against the others."""
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


def point_row(shelf: GoodShelf, point: str, bench: BenchSetup) -> dict[str, Any]:
    """Return all that is known of a point in a set-up."""
    summary, row = shelf.summary(point, bench), shelf.row(point, bench)
    return {
        "point": point,
        "setup": bench,
        "boards": summary.boards,
        "pack_boards": summary.pack_boards,
        **_tight(summary.now),
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
            {"boards": each.boards, "ahead": each.ahead, **_tight(each)}
            for each in shelf.tightening(point, bench)
        ],
        "in_job": shelf.in_job(point, bench),
    }


def _tight(found: Tightness) -> dict[str, Any]:
    return {
        "mean": found.mean,
        "standard_uncertainty": found.deviation,
        "low": found.low,
        "high": found.high,
        "over_range": found.over_range,
        "degrees": found.degrees,
    }
