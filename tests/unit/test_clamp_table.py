"""Clamp tables and the junction that stands for one.

Interpolation is checked against NumPy's in the logarithm, the fit against SciPy's nonlinear least
squares and against junctions whose parameters are known.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from nextprobe.board import ROOM_TEMPERATURE
from nextprobe.circuit.clamp_table import ClampCorners, ClampTable
from nextprobe.circuit.defaults import JunctionModel, junction_of_drop
from nextprobe.circuit.junction import current_and_slope, thermal_voltage
from nextprobe.circuit.junction_fit import (
    METER_CURRENTS,
    fit_for_meter,
    fit_junction,
    junction_drop,
)
from nextprobe.errors import MisuseError, SettingError

TABLE = ClampTable((-1.0, 0.0, 0.4, 0.6, 0.8), (-1e-9, 0.0, 1e-6, 0.5e-3, 8e-3))


def sampled(model: JunctionModel, points: int = 600) -> ClampTable:
    currents = np.geomspace(1e-9, 20e-3, points)
    drops = junction_drop(model, currents)
    return ClampTable((-1.0, 0.0, *map(float, drops)), (0.0, 0.0, *map(float, currents)))


def test_logarithms_are_interpolated() -> None:
    volts, logarithms = np.array(TABLE.volts[2:]), np.log(TABLE.amperes[2:])
    for each in (0.4, 0.45, 0.6, 0.71, 0.8):
        assert TABLE.current(each) == pytest.approx(np.exp(np.interp(each, volts, logarithms)))
    for each in (1e-6, 2e-5, 1e-3, 8e-3):
        assert TABLE.drop(each) == pytest.approx(np.interp(np.log(each), logarithms, volts))


def test_leakage_is_interpolated_itself() -> None:
    assert TABLE.current(0.1) == pytest.approx(0.25e-6)
    assert TABLE.current(-0.5) == pytest.approx(-0.5e-9)
    assert TABLE.drop(0.5e-6) == pytest.approx(0.2)


def test_outside_the_table_it_raises() -> None:
    for volts in (-1.01, 0.81, float("nan")):
        with pytest.raises(SettingError, match=r"goes from -1 to 0\.8 V"):
            TABLE.current(volts)
    for amperes in (8.1e-3, 0.0, -1e-3, float("nan")):
        with pytest.raises(SettingError, match=r"reaches 8 mA by 0\.8 V"):
            TABLE.drop(amperes)
    assert TABLE.reaches(8e-3)
    assert not TABLE.reaches(8.1e-3)
    assert TABLE.reach == 8e-3


def test_a_table_that_blocks_reaches_nothing() -> None:
    blocked = ClampTable((-2.0, -1.0, 0.0), (-1e-3, 0.0, 5e-3))
    assert blocked.reach == 0.0
    assert not blocked.reaches(1e-3)
    assert fit_for_meter(blocked) is None


def test_the_first_drop_counts_where_the_current_falls_again() -> None:
    table = ClampTable((0.0, 0.5, 0.6, 0.7, 0.8), (0.0, 1e-6, 2e-3, 1e-4, 9e-3))
    assert 0.5 < table.drop(1e-3) < 0.6


@pytest.mark.parametrize(
    ("volts", "amperes"),
    [((0.0,), (0.0,)), ((0.0, 1.0), (0.0,)), ((0.0, 0.0), (0.0, 1.0)), ((1.0, 0.0), (0.0, 1.0)),
     ((0.0, float("inf")), (0.0, 1.0)), ((0.0, 1.0), (0.0, float("nan")))],
)  # fmt: skip
def test_what_is_no_table(volts: tuple[float, ...], amperes: tuple[float, ...]) -> None:
    with pytest.raises(MisuseError):
        ClampTable(volts, amperes)


def test_corners() -> None:
    weak = ClampTable((0.0, 0.5, 0.9), (0.0, 1e-6, 2e-3))
    clamp = ClampCorners(TABLE, weak, None)
    assert clamp.drop(1e-3, "max") is None
    assert clamp.span(1e-3) is None
    both = ClampCorners(TABLE, weak, ClampTable((0.0, 0.5, 0.6), (0.0, 1e-6, 2e-3)))
    assert both.span(1e-3) == pytest.approx(weak.drop(1e-3) - both.drop(1e-3, "max"))
    assert both.span(5e-3) is None


MODELS = [
    junction_of_drop(0.609, 1.6, 25.0),
    junction_of_drop(0.36, 1.2, 60.0),
    junction_of_drop(0.89, 2.5, 5.0),
    JunctionModel(2e-5, 1.8, 5.0),
]


@pytest.mark.parametrize("model", MODELS)
def test_a_junction_is_found_again(model: JunctionModel) -> None:
    found = fit_for_meter(sampled(model))
    assert found is not None
    assert found.model.emission == pytest.approx(model.emission, rel=1e-3)
    assert found.model.series == pytest.approx(model.series, rel=5e-3)
    assert np.log(found.model.saturation) == pytest.approx(np.log(model.saturation), abs=2e-3)
    assert found.residual <= found.worst < 2e-5
    assert (found.low, found.high) == METER_CURRENTS


def test_the_fit_is_the_least_squares_of_scipy() -> None:
    bent = ClampTable(
        (0.0, 0.40, 0.50, 0.55, 0.60, 0.70, 0.90), (0.0, 1e-5, 1.4e-4, 3e-4, 7e-4, 1.5e-3, 4e-3)
    )
    found = fit_junction(bent)
    currents = np.geomspace(*METER_CURRENTS, 31)
    drops = np.array([bent.drop(float(min(each, 2e-3))) for each in currents])
    scale = thermal_voltage(ROOM_TEMPERATURE)

    def differences(parameters: np.ndarray) -> np.ndarray:
        logarithm, emission, series = parameters
        inner = np.logaddexp(0.0, np.log(currents) - logarithm)
        return emission * scale * inner + currents * series - drops

    theirs = least_squares(
        differences, (-20.0, 1.5, 20.0), bounds=((-60, 0.5, 0.01), (0, 9, 1e4)), x_scale="jac",
        ftol=1e-14, xtol=1e-14, gtol=1e-14,
    )  # fmt: skip
    residual = float(np.sqrt(np.mean(theirs.fun**2)))
    assert 1e-3 < residual < 2e-2, "a curve that one junction does not fit"
    assert found.residual == pytest.approx(residual, rel=2e-3)


def test_a_fit_is_what_the_circuit_solves() -> None:
    model = fit_junction(sampled(MODELS[0])).model
    drop = junction_drop(model, np.array([1e-3]))
    scale = model.emission * thermal_voltage(ROOM_TEMPERATURE)
    one = np.ones(1)
    current, _ = current_and_slope(drop, model.saturation * one, scale * one, model.series * one)
    assert current[0] == pytest.approx(1e-3, rel=1e-9)


def test_a_straight_line_is_mostly_series_resistance() -> None:
    found = fit_for_meter(ClampTable((0.0, 1.0), (0.0, 10e-3)))
    assert found is not None
    assert found.model.series == pytest.approx(100.0, rel=0.05)
    assert found.residual < 1e-3


def test_a_table_that_ends_early_is_fitted_as_far_as_it_goes() -> None:
    table = ClampTable((0.0, 0.5, 0.6, 0.65), (0.0, 1e-5, 7e-4, 1.3e-3))
    found = fit_for_meter(table)
    assert found is not None
    assert found.high == pytest.approx(1.3e-3)
    with pytest.raises(SettingError, match=r"reaches 1\.3 mA"):
        fit_junction(table)
    with pytest.raises(SettingError, match="no range"):
        fit_junction(table, 1e-3, 1e-3)
    assert fit_for_meter(ClampTable((0.0, 0.5, 0.6), (0.0, 1e-5, 9e-4))) is None
    assert fit_for_meter(ClampTable((0.0, 0.5), (1e-3, 3e-3))) is None
