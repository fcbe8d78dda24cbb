"""The clamps of a chip's pins, as a table and as plain rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from nextprobe.circuit.clamp_table import ClampCorners, Corner
from nextprobe.circuit.junction_fit import JunctionFit
from nextprobe.cli.tables import heading, line, table
from nextprobe.readers.ibis import Component, IbisFile, Model, pin_clamps, usable
from nextprobe.readers.ibis.content import NOT_A_SIGNAL
from nextprobe.reference.clamp_priors import SOURCE, clamp_prior

Row = Mapping[str, Any]
CURRENT = 1e-3
"""Of diode mode [A]."""
_USUAL = (0.05, 0.95)
_CORNERS: tuple[Corner, ...] = ("typ", "min", "max")
_NAMED = 8


def summary(file: Path, content: IbisFile, component: Component) -> dict[str, object]:
    """Return what the file is about."""
    return {
        "file": str(file),
        "version": content.version,
        "component": component.name,
        "manufacturer": component.manufacturer,
        "current": CURRENT,
        "usual": [clamp_prior(CURRENT).quantile(level) for level in _USUAL],
        "usual_source": SOURCE,
    }


def pin_rows(content: IbisFile, component: Component) -> list[dict[str, object]]:
    """Return a row for each pin; pins of one model share what is computed."""
    known: dict[str, dict[str, object]] = {}
    rows = []
    for pin in component.pins:
        row: dict[str, object] = {"pin": pin.number, "signal": pin.signal}
        model = content.model_of(pin)
        if model is None:
            row["class"] = pin.model if pin.model in NOT_A_SIGNAL else "unknown model"
        else:
            known.setdefault(model.name, _model_row(model))
            row |= known[model.name]
        rows.append(row)
    return rows


def _model_row(model: Model) -> dict[str, object]:
    found, clamps = usable(model), pin_clamps(model)
    return {
        "class": model.kind or "not stated",
        "model": model.name,
        "capacitance": model.typical("c_comp"),
        "temperature": model.typical("temperature_range"),
        "drop": None if found.lower is None else _drops(model.ground_clamp),
        "deviation": clamps.lower.spread if clamps.lower is not None else None,
        "why_no_drop": found.why,
        "fit": _fit(found.lower),
        "upper": "none" if found.no_upper else "unknown" if found.upper is None else "there",
        "upper_drop": None if found.upper is None else _drops(model.power_clamp),
        "upper_fit": _fit(found.upper),
    }


def _drops(clamp: ClampCorners | None) -> dict[Corner, float | None] | None:
    return None if clamp is None else {each: clamp.drop(CURRENT, each) for each in _CORNERS}


def _fit(fit: JunctionFit | None) -> dict[str, float] | None:
    return None if fit is None else {**asdict(fit.model), **_rest(fit)}


def _rest(fit: JunctionFit) -> dict[str, float]:
    names = ("residual", "worst", "low", "high")
    return {name: getattr(fit, name) for name in names}


def shown(content: IbisFile, component: Component, rows: Sequence[Row]) -> Iterator[RenderableType]:
    """Show the pins of a component."""
    maker = f" by {component.manufacturer}" if component.manufacturer else ""
    yield heading(f"{component.name}{maker}: {len(rows)} pins, IBIS {content.version or '?'}")
    numbers = (3, 4, 5, 6, 7, 8)
    clamps = table(
        "pin", "signal", "class", "typ [V]", "min", "max", "± [mV]", "upper [V]", "fit [mV]",
        numbers=numbers,
    )  # fmt: skip
    for words in clamps.columns[:3]:
        words.overflow = "fold"
    for row in rows:
        clamps.add_row(Text(row["pin"]), Text(row["signal"]), Text(row["class"]), *_cells(row))
    yield clamps
    yield line(
        "typ, min, max: drop from ground to the pin at 1 mA, diode mode with the positive lead "
        "on ground, at the typical process and at the file's corners"
    )
    yield line("upper: drop from the pin to its rail; none: the pin has no such clamp")
    low, high = (clamp_prior(CURRENT).quantile(level) for level in _USUAL)
    yield line(f"usual: {low:.3f} to {high:.3f} V (5 to 95 % of clamps; {SOURCE})")
    for reason, pins in _reasons(rows).items():
        yield line(f"no drop at {_listed(pins)}: {reason}")
    odd = [row["pin"] for row in rows if row.get("drop") and not low <= row["drop"]["typ"] <= high]
    if odd:
        yield line(f"unusual: {_listed(odd)}")


def _cells(row: Row) -> list[str]:
    if "drop" not in row:
        return [""] * 6
    drops = row["drop"] or {}
    upper = row["upper_drop"]["typ"] if row["upper_drop"] else None
    return [
        *(_volts(drops.get(corner)) for corner in _CORNERS),
        "" if row["deviation"] is None else f"{1e3 * row['deviation']:.0f}",
        row["upper"] if upper is None else _volts(upper),
        "" if row["fit"] is None else f"{1e3 * row['fit']['residual']:.1f}",
    ]


def _volts(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}"


def _reasons(rows: Sequence[Row]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for row in rows:
        if row.get("why_no_drop"):
            found.setdefault(row["why_no_drop"], []).append(row["pin"])
    return found


def _listed(pins: Sequence[str]) -> str:
    more = f" and {len(pins) - _NAMED} more" if len(pins) > _NAMED else ""
    return ", ".join(pins[:_NAMED]) + more
