"""IBIS files of chips that nobody makes: the vendor, the parts and the curves are invented."""

from __future__ import annotations

from collections.abc import Sequence
from math import expm1

from nextprobe.board import ROOM_TEMPERATURE
from nextprobe.circuit.defaults import JunctionModel, junction_of_drop
from nextprobe.circuit.junction import current_and_slope, thermal_voltage

VOLTS = [round(-1.2 + 0.05 * step, 2) for step in range(49)]
"""Voltages of a table, from -1.2 V to 1.2 V."""

DATA_LOWER = junction_of_drop(0.463, 1.6, 25.0)
INPUT_LOWER = junction_of_drop(0.660, 1.6, 25.0)
DATA_UPPER = junction_of_drop(0.730, 1.6, 25.0)


def carried(model: JunctionModel, volts: float) -> float:
    """Return what a junction carries at a voltage across it [A]."""
    import numpy as np  # noqa: PLC0415

    scale = model.emission * thermal_voltage(ROOM_TEMPERATURE)
    if volts <= 0.0:
        return model.saturation * expm1(volts / scale)
    one = np.ones(1)
    found, _ = current_and_slope(
        volts * one, model.saturation * one, scale * one, model.series * one
    )
    return float(found[0])


def table(
    keyword: str, lower: Sequence[JunctionModel | None], volts: Sequence[float] = VOLTS
) -> str:
    """Return a clamp table with a column for each model; None writes NA."""
    sign = -1.0 if keyword.lower().startswith("gnd") else 1.0
    lines = [f"[{keyword}]", "| voltage  I(typ)  I(min)  I(max)"]
    for each in volts:
        words = [
            "NA" if model is None else f"{1e3 * sign * carried(model, -each):.9g}mA"
            for model in lower
        ]
        lines.append(f"{each:g} " + " ".join(words))
    return "\n".join(lines)


def corner(model: JunctionModel, by: float) -> JunctionModel:
    """Return a junction that drops `by` more at 1 mA [V]."""
    scale = model.emission * thermal_voltage(ROOM_TEMPERATURE)
    factor = expm1(-by / scale) + 1.0
    return JunctionModel(model.saturation * factor, model.emission, model.series)


def corners(model: JunctionModel, span: float) -> list[JunctionModel | None]:
    """Return typical, minimum and maximum columns that are `span` apart at 1 mA [V]."""
    return [model, corner(model, span / 2.0), corner(model, -span / 2.0)]


def bridge_file() -> str:
    """Return the file of an invented bridge chip: data pins, inputs without an upper clamp."""
    return f"""[IBIS Ver]   3.2
[File Name]  hollin_bridge.ibs
[File Rev]   1.0
[Source]     Invented for tests
|
[Component]  HLN-4410
[Manufacturer] Hollin Works
[Package]
R_pkg 0.1 NA NA
[Pin] signal_name model_name R_pin L_pin C_pin
1  V18     POWER
2  GND     GND
3  DATA0   data_sel
4  DATA1   data_sel
5  RESET_N in_33  0.05 1.2nH 0.3pF
6  SPARE   NC
[Model Selector] data_sel
data_18  1.8 V drive
data_33  3.3 V drive
[Model] data_18
Model_type I/O
Vinl = 0.6V
C_comp 3.0pF 2.5pF 3.5pF
[Temperature Range] 25 85 0
[Voltage Range] 1.8V 1.7V 1.9V
{table("GND Clamp", corners(DATA_LOWER, 0.12))}
{table("POWER Clamp", corners(DATA_UPPER, 0.12))}
[Ramp]
dV/dt_r 1.0/0.5n NA NA
[Model] in_33
Model_type Input
C_comp 2.0pF NA NA
[Voltage Range] 3.3V 3.0V 3.6V
{table("GND_clamp", [INPUT_LOWER, None, None])}
[End]
"""
