"""A diode with series resistance in closed form.

T. C. Banwell and A. Jayakumar (2000), "Exact analytical solution for current flow through diode
with series resistance", Electronics Letters 36(4), 291-292, doi:10.1049/el:20000301: the current
of V = n Vt ln(I/Is + 1) + I Rs is (n Vt/Rs) W(Is Rs/(n Vt) exp((V + Is Rs)/(n Vt))) - Is. Here
the right-hand side is evaluated with scipy.special.lambertw against our Wright omega branch,
to 1 in 10^9.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import lambertw

from nextprobe.board import Role
from nextprobe.circuit.defaults import lower_clamp
from nextprobe.circuit.junction import current_and_slope, saturation_at, thermal_voltage

CASES = [(1e-9, 1.6, 25.0), (1e-14, 1.0, 0.1), (1e-6, 2.0, 1.0), (5e-8, 1.6, 0.125)]
VOLTS = np.linspace(-3.0, 1.0, 81)


def ours(volts: np.ndarray, saturation: float, emission: float, series: float):
    scale = emission * thermal_voltage(298.15)
    arrays = [np.full_like(volts, each) for each in (saturation, scale, series)]
    return current_and_slope(volts, *arrays)


@pytest.mark.parametrize(("saturation", "emission", "series"), CASES)
def test_current_is_banwell_and_jayakumars(
    saturation: float, emission: float, series: float
) -> None:
    scale = emission * thermal_voltage(298.15)
    argument = saturation * series / scale * np.exp((VOLTS + saturation * series) / scale)
    expected = scale / series * lambertw(argument).real - saturation
    current, _ = ours(VOLTS, saturation, emission, series)
    np.testing.assert_allclose(current, expected, rtol=1e-9, atol=1e-12 * saturation)


@pytest.mark.parametrize(("saturation", "emission", "series"), CASES)
def test_current_solves_the_implicit_equation(
    saturation: float, emission: float, series: float
) -> None:
    scale = emission * thermal_voltage(298.15)
    volts = np.array([0.1, 0.3, 0.6, 0.9])
    current, _ = ours(volts, saturation, emission, series)
    for volt, found in zip(volts, current, strict=True):

        def excess(amps: float, volt: float = float(volt)) -> float:
            return scale * np.log1p(amps / saturation) + amps * series - volt

        expected = brentq(excess, 0.0, volt / series, xtol=1e-18, rtol=1e-13)
        assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("saturation", "emission", "series"), CASES)
def test_slope_is_capped_at_the_series_conductance(
    saturation: float, emission: float, series: float
) -> None:
    volts = np.array([-100.0, 0.5, 5.0, 1000.0])
    current, slope = ours(volts, saturation, emission, series)
    assert np.isfinite(current).all()
    assert (slope <= 1 / series).all()
    assert slope[-1] == pytest.approx(1 / series, rel=1e-3)


def test_about_minus_two_millivolts_per_kelvin() -> None:
    """Common practice, no published source: a silicon junction at 0.6 V falls by about 2 mV/K."""
    clamp = lower_clamp(Role.LOGIC, large=False)

    def drop(temperature: float) -> float:
        saturation = saturation_at(clamp.saturation, clamp.emission, temperature)
        scale = clamp.emission * thermal_voltage(temperature)
        return float(scale * np.log1p(1e-3 / saturation) + 1e-3 * clamp.series)

    assert drop(298.15) == pytest.approx(0.60, abs=1e-6)
    assert -2.3e-3 < (drop(308.15) - drop(298.15)) / 10 < -1.7e-3
