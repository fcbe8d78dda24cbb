"""How the prediction of one more good board tightens with the number of boards measured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from scipy.special import ndtri

from nextprobe.board import OverRange
from nextprobe.errors import MisuseError
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive

_COVERAGE = float(ndtri(0.975))


@dataclass(frozen=True)
class Tightness:
    """What is predicted of one more good board after a number of boards.

    Parameters
    ----------
    boards : int
        How many were measured.
    mean : float or None
        What one more should read [V, ohm or F]; None where nothing is known of it.
    deviation : float or None
        Standard uncertainty of that, meter included [V, ohm or F]; None where nothing is known.
    low, high : float or None
        Where it lies with a probability of 95 %, if it is a number [V, ohm or F].
    over_range : float
        Chance that it is over-range.
    degrees : float
        Degrees of freedom of the Student t behind it.
    ahead : bool
        Whether these boards are still to be measured: then it is what to hope for.
    """

    boards: int
    mean: float | None
    deviation: float | None
    low: float | None
    high: float | None
    over_range: float
    degrees: float
    ahead: bool = False


def tightness(found: Predictive, boards: int) -> Tightness:
    """Return a prediction as standard uncertainty and 95 % interval."""
    over, degrees, mean, deviation = found.over_range, found.degrees, found.mean, found.deviation
    if mean is None:
        return Tightness(boards, None, None, None, None, over, degrees)
    reach = _COVERAGE * deviation
    return Tightness(boards, mean, deviation, mean - reach, mean + reach, over, degrees)


def tightening(
    readings: Sequence[float | OverRange],
    prior: SpreadPrior,
    measuring: float = 0.0,
    counts: Iterable[int] = (0, 1, 2, 5, 10),
) -> tuple[Tightness, ...]:
    """Return the prediction after the first so many boards, and what more of them promise.

    Parameters
    ----------
    readings : sequence of float or OverRange
        One of each board, in the order in which they were measured [V, ohm or F].
    prior : SpreadPrior
        Before any of them.
    measuring : float
        Standard uncertainty of the meter for the reading to come [V, ohm or F].
    counts : iterable of int
        Numbers of boards. Those beyond the boards measured are said for boards that read like
        those measured so far.

    Raises
    ------
    MisuseError
        If a count is negative.
    """
    wanted = sorted({*counts, len(readings)})
    if wanted[0] < 0:
        raise MisuseError("there can not be fewer than no boards")
    return tuple(_after(count, readings, prior, measuring) for count in wanted)


def _after(
    count: int, readings: Sequence[float | OverRange], prior: SpreadPrior, measuring: float
) -> Tightness:
    found = predictive(readings[:count], prior, measuring)
    more = count - len(readings)
    if more <= 0:
        return tightness(found, count)
    states = sum(prior.over_range) + len(readings)
    alike = more if found.over_range > 0.5 else 0
    over = (found.over_range * states + alike) / (states + more)
    found = replace(found, over_range=over)
    if found.mean is not None and not alike:
        found = _promised(found, prior, more)
    return replace(tightness(found, count), ahead=True)


def _promised(found: Predictive, prior: SpreadPrior, more: int) -> Predictive:
    """Return the prediction after `more` boards whose spread is the one found so far."""
    weight = prior.boards + found.boards
    deviation = found.scale / (1.0 + 1.0 / weight) ** 0.5
    scale = deviation * (1.0 + 1.0 / (weight + more)) ** 0.5
    return replace(found, scale=scale, degrees=found.degrees + more, boards=found.boards + more)
