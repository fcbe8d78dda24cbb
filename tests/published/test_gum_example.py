"""Uncertainty of a meter.

JCGM 100:2008, Evaluation of measurement data – Guide to the expression of uncertainty in
measurement. 4.3.7, example 2: a voltmeter with an accuracy of 14e-6 of the reading plus 2e-6 of
its 1 V range shows 0.928 571 V; the half-width is 15 µV and u = 8.7 µV. F.2.2.1: the resolution d
of a display alone gives u = 0.29 d. EA-4/02, supplement S9: a hand-held meter with a resolution of
0.1 V contributes u = 0.029 V. Figures from memory; tolerances are half of the last digit given.
"""

from __future__ import annotations

import pytest

from nextprobe.board import MeterMode, MeterRange


def volts(resolution: float, percent: float, counts: float) -> MeterRange:
    return MeterRange(MeterMode.DC_VOLTS, 1000.0, resolution, percent, counts)


def test_accuracy_of_reading_and_range() -> None:
    meter = volts(resolution=1e-6, percent=14e-4, counts=2)
    assert meter.standard_uncertainty(0.928571) == pytest.approx(8.7e-6, abs=0.05e-6)


@pytest.mark.parametrize("resolution", [1e-3, 1.0])
def test_resolution_alone(resolution: float) -> None:
    meter = volts(resolution, percent=0, counts=0)
    assert meter.standard_uncertainty(0.5) == pytest.approx(0.29 * resolution, rel=0.005 / 0.29)


def test_hand_held_meter() -> None:
    meter = volts(resolution=0.1, percent=0, counts=0)
    assert meter.standard_uncertainty(100.5) == pytest.approx(0.029, abs=0.0005)
