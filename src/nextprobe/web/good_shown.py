"""Shapes of what is sent of known-good boards."""

from __future__ import annotations

from datetime import date
from typing import Any

from nextprobe.board import BenchSetup, OverRange
from nextprobe.job.good_shelf import InJob
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
