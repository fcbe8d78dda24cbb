"""From the models of an IBIS file to the junctions that a meter meets at each pin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from nextprobe.board import ROOM_TEMPERATURE, ZERO_CELSIUS, Clamp, PinClamps
from nextprobe.circuit.clamp_table import ClampCorners
from nextprobe.circuit.junction_fit import LEAST_REACH, JunctionFit, fit_for_meter
from nextprobe.readers.ibis.content import Component, IbisFile, Model

USUAL_SPAN = 0.160
"""Distance of the drops of a file's corners, where it has none [V]: the median of 18 public IBIS
(ANSI/EIA-656) files, aggregates. Corners mostly take process, supply and temperature together."""

CORNER_DEVIATIONS = 6.0
"""Standard deviations from corner to corner (common practice, no published source)."""

UNPOWERED = 0.030
"""What an unpowered chip adds to the uncertainty of a table that was simulated powered: it
floats, and its rails and neighbours conduct (a guess) [V]."""

PER_KELVIN = 1.4e-3
"""Drop by temperature in the same files [V/K]: 1.0 to 1.8 mV on most, the other way on some, so
that it widens the spread and moves no drop."""

LEAST_DROP = 0.25
"""A smaller drop at 1 mA is no clamp but a termination that only a powered chip has [V]; the
smallest of the same files is 0.34 V."""

ENOUGH = 1.0
"""A clamp that carries less than 1 mA at this drop is as good as missing [V]."""

# Models that publish all their tables; outputs may leave out clamps that are there.
_TELLS_ALL = ("input", "i/o", "3-state", "terminator")


@dataclass(frozen=True)
class Usable:
    """What of a model can be used.

    Parameters
    ----------
    lower, upper : JunctionFit or None
        Clamp from ground and clamp to the rail; None where none can be fitted.
    no_upper : bool
        Whether the file says that there is no upper clamp.
    why : str
        Why there is no lower one; empty if there is.
    """

    lower: JunctionFit | None
    upper: JunctionFit | None
    no_upper: bool
    why: str = ""


def usable(model: Model) -> Usable:
    """Return the clamps of a model that a meter can meet."""
    lower, why = _lower(model)
    upper = None if model.power_clamp is None else fit_for_meter(model.power_clamp.typ)
    if upper is not None and not _is_clamp(model.power_clamp):
        upper = None
    return Usable(lower, upper, upper is None and _has_no_upper(model), why)


def _lower(model: Model) -> tuple[JunctionFit | None, str]:
    if model.ground_clamp is None:
        return None, _why_none(model)
    reference = model.typical("gnd_clamp_reference") or 0.0
    if reference != 0.0:
        return None, f"it conducts to {reference:g} V, not to ground"
    found = fit_for_meter(model.ground_clamp.typ)
    if found is None:
        reach = 1e3 * model.ground_clamp.typ.reach
        return None, f"its table reaches {reach:.2g} mA, not 1 mA"
    if not _is_clamp(model.ground_clamp):
        return None, "it drops too little: a termination that needs power"
    return found, ""


def _why_none(model: Model) -> str:
    if "gnd_clamp" in model.clamps:
        return "its table can not be used"
    return "its tables are in a submodel, if anywhere" if model.submodels else "it has no table"


def _is_clamp(clamp: ClampCorners | None) -> bool:
    drop = None if clamp is None else clamp.drop(LEAST_REACH)
    return drop is not None and drop >= LEAST_DROP


def _has_no_upper(model: Model) -> bool:
    """Tell whether a pin has no clamp to its rail that carries what a meter drives."""
    table = None if model.power_clamp is None else model.power_clamp.typ
    if table is not None:
        return table.volts[-1] >= ENOUGH and table.reach < LEAST_REACH
    named = model.kind.lower().startswith(_TELLS_ALL)
    return named and "power_clamp" not in model.clamps and model.ground_clamp is not None


def clamps_of(file: IbisFile, component: Component) -> dict[str, PinClamps]:
    """Return what is known of each signal pin's clamps, by number; nothing of the others."""
    return dict(_each(file, component))


def _each(file: IbisFile, component: Component) -> Iterator[tuple[str, PinClamps]]:
    known: dict[str, PinClamps] = {}
    for pin in component.pins:
        model = file.model_of(pin)
        if model is None:
            continue
        if model.name not in known:
            known[model.name] = pin_clamps(model)
        if known[model.name] != PinClamps():
            yield pin.number, known[model.name]


def pin_clamps(model: Model) -> PinClamps:
    """Return the clamps of a model as a board keeps them."""
    found = usable(model)
    return PinClamps(
        _clamp(found.lower, model.ground_clamp, model),
        _clamp(found.upper, model.power_clamp, model),
        found.no_upper,
    )


def _clamp(fit: JunctionFit | None, corners: ClampCorners | None, model: Model) -> Clamp | None:
    if fit is None or corners is None:
        return None
    junction = fit.model
    spread = deviation(corners, fit, model)
    return Clamp(junction.saturation, junction.emission, junction.series, spread)


def deviation(corners: ClampCorners, fit: JunctionFit, model: Model) -> float:
    """Return the standard deviation of a drop at 1 mA about the fitted junction [V].

    Corners, the fit, the temperature of the tables and the unpowered chip, as independent
    of each other (JCGM 100:2008, 5.1.2).
    """
    span = corners.span(LEAST_REACH)
    corner = (USUAL_SPAN if span is None else span) / CORNER_DEVIATIONS
    celsius = model.typical("temperature_range")
    warmer = 0.0 if celsius is None else celsius + ZERO_CELSIUS - ROOM_TEMPERATURE
    return hypot(corner, fit.residual, PER_KELVIN * warmer, UNPOWERED)
