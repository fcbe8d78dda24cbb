"""How far a reading still follows its junction once a leak takes part of the current."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import ROOM_TEMPERATURE
from nextprobe.circuit.defaults import CLAMP_EMISSION
from nextprobe.circuit.junction import thermal_voltage

Floats = NDArray[np.float64]

_LEAST = 1e-6


def junction_share(healthy: float, leaking: Floats) -> Floats:
    """Return the slope of a reading against its junction's drop, next to that without the leak.

    A constant current I goes through a junction and a leak of conductance G. The junction keeps
    x I, where its law says that V_healthy - V = n kT/q ln(1/x), and conducts x I / (n kT/q) for
    small changes; the leak takes (1 - x) I = G V. A change of the drop is divided between them:
    the reading follows by the junction's share of both conductances (elementary, from the law of
    Shockley 1949, Bell System Technical Journal 28, 435-489, and Kirchhoff's current law).

    Parameters
    ----------
    healthy : float
        The reading without the leak [V].
    leaking : ndarray
        Readings with leaks, not above it [V].

    Returns
    -------
    ndarray
        From 0, where the leak alone decides, to 1.
    """
    scale = CLAMP_EMISSION * thermal_voltage(ROOM_TEMPERATURE)
    kept = np.exp(-np.maximum(healthy - leaking, 0.0) / scale)
    junction, leak = kept / scale, (1.0 - kept) / np.maximum(leaking, _LEAST)
    return np.asarray(junction / (junction + leak))
