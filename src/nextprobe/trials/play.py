"""Play a whole job: a strategy asks, a simulated device answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nextprobe.diagnosis import Case, Move
from nextprobe.diagnosis.costs import STEP_OVERHEAD, handover_cost, meter_cost, way_in
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.diagnosis.options import CLOSE, ESCALATE, TERMINAL, acts_of
from nextprobe.planning import Cost, Option
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.strategies import Strategy
from nextprobe.trials.strategies.rules import is_odd

_MOST_STEPS = 60
# One probe in fifty slips: two slips alike would send a job astray once in some sixty.
_TOUCHES = 3


@dataclass(frozen=True)
class Step:
    """One step that was taken.

    Parameters
    ----------
    option : str
        Its id.
    moves : tuple of Move
        What came of it.
    cost : Cost
        What it took.
    """

    option: str
    moves: tuple[Move, ...]
    cost: Cost


@dataclass(frozen=True)
class Played:
    """A job that was played to its end.

    Parameters
    ----------
    steps : tuple of Step
    ending : str
        ``close``, ``decline`` or ``escalate``.
    cost : Cost
        Of everything, the handing over or the lost job included.
    price : float
        The same as one number [currency].
    cured : bool
        Whether the complaint is really gone.
    sold_in_vain : tuple of str
        Modules that were replaced though they were good.
    wiped : bool
        Whether data was wiped.
    """

    steps: tuple[Step, ...]
    ending: str
    cost: Cost
    price: float
    cured: bool
    sold_in_vain: tuple[str, ...]
    wiped: bool

    @property
    def right_repair(self) -> bool:
        """Whether the cause was removed and nothing was sold that was not needed."""
        return self.ending == CLOSE and self.cured and not self.sold_in_vain


def conduct(case: Case, device: SimulatedDevice, option: str) -> tuple[Move, ...]:
    """Carry an option out on a simulated device, and return what came of it."""
    probing = case.problem.probing
    if not probing.owns(option):
        return tuple(device.answer_all(acts_of(case.model, case.situation, option)))
    if option in probing.runs:
        run = probing.run_now(case.situation, option)
        return tuple(_run(case, device, run.measurements if run is not None else ()))
    return tuple(_run(case, device, (probing.measured(option),)))


def _run(case: Case, device: SimulatedDevice, measured: Sequence[Measurement]) -> list[Move]:
    """Touch point after point; a surprise that two more touches confirm stops the run."""
    moves: list[Move] = []
    for item in measured:
        for _ in range(_TOUCHES):
            moves.append(device.answer(item.act()))
            if not _surprises(case, moves[-1]):
                break
        else:
            break
    return moves


def _surprises(case: Case, move: Move) -> bool:
    return move.reading is not None and is_odd(case, move.reading)


def step_cost(before: Case, option: str, moves: tuple[Move, ...]) -> Cost:
    """Return what a step took: as expected, but for a run by the touches that were made."""
    expected = before.problem.cost(before.situation, Option(option, option))
    if option not in before.problem.probing.runs:
        return expected
    settings = before.brief.pack.readings
    seconds = 60.0 * (settings.minutes_run + len(moves) * settings.minutes_per_pin)
    pack, configuration = before.brief.pack, before.situation.configuration
    first = before.problem.probing.runs[option].measurements[0].act()
    opening = way_in(pack, configuration, settings.access) + meter_cost(pack, configuration, first)
    return opening + Cost(seconds + STEP_OVERHEAD, seconds + STEP_OVERHEAD)


def play(
    case: Case,
    device: SimulatedDevice,
    strategy: Strategy,
    watch: Callable[[Case, Step], None] | None = None,
) -> Played:
    """Play a job until the strategy ends it.

    Parameters
    ----------
    case : Case
        At its start.
    device : SimulatedDevice
    strategy : Strategy
    watch : callable or None
        Called with the case before and the step taken, after each step.
    """
    steps: list[Step] = []
    for _ in range(_MOST_STEPS):
        option = strategy.choose(case)
        if option in TERMINAL:
            return ended(case, device, steps, option)
        moves = conduct(case, device, option)
        steps.append(Step(option, moves, step_cost(case, option, moves)))
        if watch is not None:
            watch(case, steps[-1])
        case = case.after(*moves)
    return ended(case, device, steps, ESCALATE)


def ended(case: Case, device: SimulatedDevice, steps: Sequence[Step], option: str) -> Played:
    """Return the account of a job that ends as it stands by `option`."""
    costs = case.brief.pack.costs
    cured = device.cured
    vain = device.sold_in_vain if option == CLOSE else ()
    total = sum((step.cost for step in steps), Cost())
    if option == CLOSE:
        total += handover_cost(case.model, case.situation.configuration)
        total += Cost(harms=0.0 if cured else costs.comeback)
        total += Cost(harms=costs.needless * len(vain))
    else:
        total += Cost(harms=costs.escalation if option == ESCALATE else costs.lost_job)
    price = case.model.tariff.price(total)
    return Played(tuple(steps), option, total, price, cured, vain, device.wiped)
