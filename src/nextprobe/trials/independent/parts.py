"""The parts of a board: as everybody assumes, as their makers made them, and as one board has them.

Chips of a type are alike on all boards of the type; what the boards differ by comes on top.
"""

from __future__ import annotations

from math import exp, sqrt

import numpy as np
from scipy.special import ndtr

from nextprobe.board import ROOM_TEMPERATURE, Board, Part, Pin
from nextprobe.circuit import defaults
from nextprobe.circuit.junction import thermal_voltage
from nextprobe.reference.clamp_priors import (
    AT_1_MILLIAMPERE,
    TEMPERATURE,
    UPPER_CLAMP,
    UPPER_CLAMP_USABLE,
)
from nextprobe.trials.chances import Chances
from nextprobe.trials.independent.curves import Conduction, Curve, drawn_curve, moved
from nextprobe.trials.independent.worlds import World

# Volts by which a drop moves per unit of ln(saturation current), and the spread of that from board
# to board that the plain simulated device has as well.
_SLOPE = defaults.CLAMP_EMISSION * thermal_voltage(ROOM_TEMPERATURE)
_BOARD, _PIN = 0.25, 0.05
_LEAK, _COIL, _RESISTOR = 0.2, 0.2, 0.005
# A t variate with 2 degrees of freedom times this has the quartiles of a standard normal one.
_LIKE_NORMAL = 0.6745 / 0.8165
_FARTHEST = 12.0


class UsualParts:
    """Parts as the prediction assumes them."""

    def lower(self, board: Board, chip: Part, pin: Pin) -> Conduction:
        """Return what conducts from ground to a signal pin."""
        known = pin.clamps.lower if pin.clamps is not None else None
        if known is not None:
            return defaults.JunctionModel(known.saturation, known.emission, known.series)
        return defaults.lower_clamp(board.role(pin.net), defaults.is_large(chip))

    def upper(self, board: Board, chip: Part, pin: Pin) -> Conduction | None:
        """Return what conducts from a signal pin to its rail, if anything does."""
        del board, chip
        if pin.clamps is None:
            return defaults.upper_clamp()
        known = pin.clamps.upper
        if known is not None:
            return defaults.JunctionModel(known.saturation, known.emission, known.series)
        return None if pin.clamps.no_upper else defaults.upper_clamp()

    def substrate(self, chip: Part, rail: str) -> Conduction:
        """Return what conducts from ground to a rail inside a chip."""
        del rail
        return defaults.substrate(defaults.is_large(chip))

    def junction(self, part: Part, usual: defaults.JunctionModel) -> Conduction:
        """Return what a diode, protection part or transistor conducts."""
        del part
        return usual

    def factor(self, name: str, spread: float) -> float:
        """Return what a resistance is multiplied by; `spread` is that of its logarithm."""
        del name, spread
        return 1.0

    def resistor(self, part: Part) -> float:
        """Return what a resistor is multiplied by."""
        return self.factor(f"R:{part.reference}", _RESISTOR)

    def coil(self, part: Part) -> float:
        """Return what the resistance of a ferrite or inductor is multiplied by."""
        return self.factor(f"R:{part.reference}", _COIL)

    def load(self, rail: str) -> float:
        """Return what the resistance that chips load a rail with is multiplied by."""
        return self.factor(f"leak:{rail}", _LEAK)


class MadeParts(UsualParts):
    """Parts of one type of board as their makers made them.

    Parameters
    ----------
    world : World
    spread : float
        Standard deviation of a drop from what is assumed [V].
    seed : int
        Of the type.
    """

    def __init__(self, world: World, spread: float, seed: int) -> None:
        self._world = world
        self._spread = spread
        self._chances = Chances(seed)

    def lower(self, board: Board, chip: Part, pin: Pin) -> Conduction:
        """Return what conducts from ground to a signal pin; siblings by chip and role share it."""
        name = f"{chip.reference} {board.role(pin.net).value}"
        usual = super().lower(board, chip, pin)
        if self._world.clamps and (pin.clamps is None or pin.clamps.lower is None):
            rank = self._rank(chip, name)
            law: Conduction = self._curve(AT_1_MILLIAMPERE.quantile(rank), name)
        else:
            law = moved(usual, self._spread * self._score(chip, name))
        return moved(law, self._bias(chip))

    def upper(self, board: Board, chip: Part, pin: Pin) -> Conduction | None:
        """Return what conducts from a signal pin to its rail; from published tables, often none."""
        name = f"{chip.reference} {board.role(pin.net).value} upper"
        usual = super().upper(board, chip, pin)
        if usual is None:
            return None
        if not self._world.clamps or pin.clamps is not None:
            law = moved(usual, self._spread * self._score(chip, name))
            return moved(law, self._bias(chip))
        usable, of = UPPER_CLAMP_USABLE
        if self._chances.once(f"{name} is there").random() >= usable / of:
            return None
        drop = UPPER_CLAMP.quantile(self._rank(chip, name))
        return moved(self._curve(drop, name), self._bias(chip))

    def substrate(self, chip: Part, rail: str) -> Conduction:
        """Return what conducts from ground to a rail inside a chip."""
        name = f"{chip.reference} {rail} substrate"
        law = moved(super().substrate(chip, rail), self._spread * self._score(chip, name))
        return moved(law, self._bias(chip))

    def junction(self, part: Part, usual: defaults.JunctionModel) -> Conduction:
        """Return what a diode, protection part or transistor conducts."""
        own = self._chances.once(f"junction {part.reference}").standard_normal()
        return moved(usual, self._spread * float(own))

    def factor(self, name: str, spread: float) -> float:
        """Return what a resistance is multiplied by."""
        return deviates(self._world, self._chances.once(name), spread)

    def _curve(self, drop: float, name: str) -> Curve:
        own = self._chances.once(f"curve {name}")
        return drawn_curve(drop, float(own.random()), own)

    def _score(self, chip: Part, name: str) -> float:
        """Return a standard normal number; half its variance is that of the chip."""
        shared = self._chances.once(f"chip {chip.reference}").standard_normal()
        return float(shared + self._chances.once(f"pins {name}").standard_normal()) / sqrt(2.0)

    def _rank(self, chip: Part, name: str) -> float:
        return float(ndtr(self._score(chip, name)))

    def _bias(self, chip: Part) -> float:
        sign = self._chances.once(f"bias of {chip.reference}").choice((-1.0, 1.0))
        return float(sign * self._world.bias)


class BoardParts(UsualParts):
    """Parts of one board of a type.

    Parameters
    ----------
    world : World
    made : MadeParts
        Of its type.
    seed : int
        Of the board.
    warmer : float
        By how much it is warmer than room temperature [K].
    """

    def __init__(self, world: World, made: MadeParts, seed: int, warmer: float = 0.0) -> None:
        self._world = world
        self._made = made
        self._chances = Chances(seed)
        self._warmer = warmer

    def lower(self, board: Board, chip: Part, pin: Pin) -> Conduction:
        """Return what conducts from ground to a signal pin."""
        name = f"{chip.reference} {board.role(pin.net).value}"
        law = self._varied(self._made.lower(board, chip, pin), name)
        own = self._chances.once(f"pin {chip.reference}.{pin.number}")
        return moved(law, _SLOPE * self._drawn(own, _PIN))

    def upper(self, board: Board, chip: Part, pin: Pin) -> Conduction | None:
        """Return what conducts from a signal pin to its rail, if anything does."""
        law = self._made.upper(board, chip, pin)
        if law is None:
            return None
        return self._varied(law, f"{chip.reference} {board.role(pin.net).value} upper")

    def substrate(self, chip: Part, rail: str) -> Conduction:
        """Return what conducts from ground to a rail inside a chip."""
        name = f"{chip.reference} {rail} substrate"
        return self._varied(self._made.substrate(chip, rail), name)

    def junction(self, part: Part, usual: defaults.JunctionModel) -> Conduction:
        """Return what a diode, protection part or transistor conducts."""
        return self._varied(self._made.junction(part, usual), part.reference)

    def factor(self, name: str, spread: float) -> float:
        """Return what a resistance is multiplied by; boards differ half as much as types."""
        own = deviates(self._world, self._chances.once(name), spread / 2.0)
        return self._made.factor(name, spread) * own

    def _varied(self, law: Conduction, name: str) -> Conduction:
        law = moved(law, _SLOPE * self._drawn(self._chances.once(f"board {name}"), _BOARD))
        if isinstance(law, Curve) and self._warmer:
            # A table holds at one temperature; how it moves with it is drawn as published.
            law = moved(law, self._warmer * float(self._chances.once("warm").uniform(*TEMPERATURE)))
        return law

    def _drawn(self, rng: np.random.Generator, spread: float) -> float:
        return spread * drawn_score(self._world, rng)


def drawn_score(world: World, rng: np.random.Generator) -> float:
    """Draw how far something is out, in units of its spread.

    Student's t with 4 degrees of freedom of variance 1; where tails are heavy, with 2 degrees and
    the quartiles of a standard normal variate, and at most 12 of those units.
    """
    if not world.heavy_tails:
        return float(rng.standard_t(4) / sqrt(2.0))
    return float(np.clip(_LIKE_NORMAL * rng.standard_t(2), -_FARTHEST, _FARTHEST))


def deviates(world: World, rng: np.random.Generator, spread: float) -> float:
    """Draw the factor of a resistance: log-normal, or log-t where tails are heavy."""
    score = drawn_score(world, rng) if world.heavy_tails else float(rng.standard_normal())
    return exp(spread * score)
