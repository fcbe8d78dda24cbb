"""Derivatives of healthy readings to the parameters of the parts, by the adjoint network."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nextprobe.circuit.branch import Branch
from nextprobe.circuit.junction import current_and_slope, current_to_parameters
from nextprobe.circuit.network import Elements, Floats, summed
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.solve import LEAST_CONDUCTANCE, groups
from nextprobe.circuit.stack import Stack


def transfer_resistances(problems: Sequence[Problem], voltages: Sequence[Floats]) -> list[Floats]:
    """Return the volts at the probe per ampere into each node of each problem, (N,) [ohm].

    The Jacobian of two-terminal branches is symmetric, so that one solve a problem gives all.
    """
    found: list[Floats] = [np.zeros(0)] * len(problems)
    for group in groups(problems):
        stack = Stack([problems[index] for index in group], LEAST_CONDUCTANCE)
        _, jacobian = stack.equations(stack.padded([voltages[index] for index in group]))
        unit = np.zeros((stack.count, stack.size))
        unit[:, 0] = 1.0
        solved = stack.linear_solution(jacobian, unit)
        for place, index in enumerate(group):
            found[index] = stack.unpadded(solved[place], place)
    return found


def branch_currents(elements: Elements, drop: Floats) -> Floats:
    """Return the current of each branch [A] at the voltages across them, (B,) [V]."""
    junction = elements.saturation > 0
    current = drop / elements.ohms
    chosen = elements.take(junction)
    current[junction], _ = current_and_slope(
        drop[junction], chosen.saturation, chosen.emission, chosen.ohms
    )
    return np.asarray(current, dtype=np.float64)


def branch_derivatives(elements: Elements, drop: Floats) -> tuple[Floats, Floats]:
    """Return dI/d ln Is and dI/d ln R of each branch [A] at fixed voltage."""
    junction = elements.saturation > 0
    to_saturation = np.zeros(len(drop))
    to_ohms = -drop / elements.ohms
    chosen = elements.take(junction)
    to_saturation[junction], to_ohms[junction] = current_to_parameters(
        drop[junction], chosen.saturation, chosen.emission, chosen.ohms
    )
    return to_saturation, np.asarray(to_ohms, dtype=np.float64)


class Parameters:
    """Names of parameters, with which of them scales what in each branch."""

    def __init__(self, branches: Sequence[Branch]) -> None:
        names = {each.saturation_name for each in branches} | {each.ohms_name for each in branches}
        self.names = tuple(sorted(names - {""}))
        number = {name: index for index, name in enumerate(self.names)} | {"": len(self.names)}
        self._saturation = np.array([number[each.saturation_name] for each in branches], dtype=int)
        self._ohms = np.array([number[each.ohms_name] for each in branches], dtype=int)

    def gradient(self, elements: Elements, drop: Floats, weight: Floats) -> Floats:
        """Return the derivative of the probe's voltage to each ln(parameter), (K,) [V].

        Parameters
        ----------
        elements : Elements
            All B branches of the network.
        drop : (B,) array
            Voltage across each branch [V].
        weight : (B,) array
            Volts at the probe per ampere from start to end of each branch [ohm], by which an
            increase of its current is felt with the opposite sign.
        """
        to_saturation, to_ohms = branch_derivatives(elements, drop)
        count = len(self.names) + 1
        total = summed(self._saturation, -weight * to_saturation, count)
        total += summed(self._ohms, -weight * to_ohms, count)
        return total[:-1]
