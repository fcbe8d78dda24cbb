"""From a board to what a meter shows: nonlinear DC, healthy and under every electrical fault."""

from nextprobe.circuit.build import assumptions, default_points, fault_table
from nextprobe.circuit.circuit import Circuit, predict, predict_many
from nextprobe.circuit.deviations import NOMINAL, Deviations
from nextprobe.circuit.enumerate import DEFAULT_GRID, MagnitudeGrid, enumerate_faults
from nextprobe.circuit.key import ENGINE, table_key
from nextprobe.circuit.leaking import junction_share
from nextprobe.circuit.rails import Feed, feed_of, live_voltage
from nextprobe.circuit.table import FaultTable

__all__ = [
    "DEFAULT_GRID",
    "ENGINE",
    "NOMINAL",
    "Circuit",
    "Deviations",
    "FaultTable",
    "Feed",
    "MagnitudeGrid",
    "assumptions",
    "default_points",
    "enumerate_faults",
    "fault_table",
    "feed_of",
    "junction_share",
    "live_voltage",
    "predict",
    "predict_many",
    "table_key",
]
