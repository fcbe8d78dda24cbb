"""A junction with its series resistance, as one closed-form branch.

``V = n·Vt·ln(I/Is + 1) + I·Rs`` is solved for the current by the Lambert W function (Banwell and
Jayakumar 2000, Electron. Lett. 36, 291, doi:10.1049/el:20000301), written with the Wright omega
function ω(z) = W(exp z) so that no exponential overflows. The slope never exceeds 1/Rs.
"""

from __future__ import annotations

from math import exp

import numpy as np
from numpy.typing import NDArray
from scipy.special import wrightomega

from nextprobe.board import ROOM_TEMPERATURE

Array = NDArray[np.float64]

BOLTZMANN_OVER_CHARGE = 8.617333262e-5
"""Boltzmann constant over the elementary charge [V/K] (CODATA 2018, exact by definition)."""

BAND_GAP = 1.11
"""Band gap of silicon [V]; the default of SPICE diodes."""

SATURATION_EXPONENT = 3.0
"""Temperature exponent of the saturation current; the default of SPICE diodes."""


def thermal_voltage(temperature: float) -> float:
    """Return kT/q [V] at a temperature [K]."""
    return BOLTZMANN_OVER_CHARGE * temperature


def saturation_at(saturation: float, emission: float, temperature: float) -> float:
    """Return the saturation current [A] at a temperature [K], given that at 25 °C.

    ``Is(T) = Is·(T/T0)^(3/n)·exp((T/T0 − 1)·Eg/(n·Vt))``: the law of SPICE diodes (Antognetti
    and Massobrio 1988, Semiconductor Device Modeling with SPICE, chapter 1; from memory).
    At 0.6 V it comes to about −2 mV/K.
    """
    ratio = temperature / ROOM_TEMPERATURE
    growth = (ratio - 1.0) * BAND_GAP / (emission * thermal_voltage(temperature))
    return float(saturation * ratio ** (SATURATION_EXPONENT / emission) * exp(growth))


def omega(volts: Array, saturation: Array, emission: Array, series: Array) -> Array:
    """Return ω [1] such that the current is ``(emission/series)·ω − saturation``.

    Parameters
    ----------
    volts : (...,) array
        Across junction and series resistance, anode positive [V].
    saturation : (...,) array
        Saturation current [A].
    emission : (...,) array
        Emission coefficient times thermal voltage [V].
    series : (...,) array
        Series resistance [ohm].
    """
    drop = saturation * series
    argument = np.log(drop / emission) + (volts + drop) / emission
    return np.asarray(wrightomega(argument), dtype=np.float64)


def current_and_slope(
    volts: Array, saturation: Array, emission: Array, series: Array
) -> tuple[Array, Array]:
    """Return current [A] and its slope dI/dV [S]; parameters as in :func:`omega`."""
    w = omega(volts, saturation, emission, series)
    return emission / series * w - saturation, w / (1.0 + w) / series


def current_to_parameters(
    volts: Array, saturation: Array, emission: Array, series: Array
) -> tuple[Array, Array]:
    """Return the derivatives of the current to ln Is and to ln Rs at fixed voltage [A].

    From differentiating ``V = n·Vt·ln(u/Is) + (u − Is)·Rs`` with ``u = I + Is``.
    """
    u = emission / series * omega(volts, saturation, emission, series)
    resistance = emission / np.maximum(u, 1e-300) + series
    to_saturation = (emission + saturation * series) / resistance - saturation
    return to_saturation, -(u - saturation) * series / resistance
