"""Play a whole job: a strategy asks, a simulated device answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from nextprobe.board import OverRange
from nextprobe.diagnosis import Case, Move, Probe
from nextprobe.diagnosis.costs import handover_cost
from nextprobe.diagnosis.options import CLOSE, ESCALATE, TERMINAL, acts_of
from nextprobe.diagnosis.running import BENCH, NORMAL, bin_of
from nextprobe.planning import Cost, Option
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.strategies import Strategy

_MOST_STEPS = 60


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


@dataclass
class Bench:
    """A case and a device that change together.

    Parameters
    ----------
    case : Case
    device : SimulatedDevice
    """

    case: Case
    device: SimulatedDevice
    steps: list[Step] = field(default_factory=list)

    def take(self, option: str) -> Step:
        """Take an option and let the device answer."""
        before = self.case
        moves = tuple(self._moves(option))
        self.case = before.after(*moves)
        step = Step(option, moves, self._cost(before, option, moves))
        self.steps.append(step)
        return step

    def _moves(self, option: str) -> list[Move]:
        probing = self.case.problem.probing
        if not probing.owns(option):
            return self.device.answer_all(acts_of(self.case.model, self.case.situation, option))
        if option in probing.runs:
            run = probing.run_now(self.case.situation, option)
            return self._run(run.points if run is not None else ())
        return [self.device.answer(Probe(option.partition(":")[2]))]

    def _run(self, points: tuple[str, ...]) -> list[Move]:
        """Touch point after point; a surprise is touched once more, and stops the run."""
        moves: list[Move] = []
        for point in points:
            for _ in range(2):
                moves.append(self.device.answer(Probe(point)))
                if not self._surprises(moves[-1]):
                    break
            else:
                break
        return moves

    def _surprises(self, move: Move) -> bool:
        expectations = self.case.model.expectations
        if expectations is None or move.reading is None:
            return False
        value: float | OverRange = move.reading.value
        return bin_of(expectations.at(move.reading.point, BENCH), value) != NORMAL

    def _cost(self, before: Case, option: str, moves: tuple[Move, ...]) -> Cost:
        settings = before.brief.pack.readings
        expected = before.problem.cost(before.situation, Option(option, option))
        if option not in before.problem.probing.runs:
            return expected
        one = before.problem.probing.cost(before.situation, f"probe:{_first_point(moves)}")
        minutes = settings.minutes_run + len(moves) * settings.minutes_per_pin
        way_in = one + Cost(settings.minutes_known * 60.0, settings.minutes_known * 60.0) * -1.0
        return way_in + Cost(minutes * 60.0, minutes * 60.0)


def _first_point(moves: tuple[Move, ...]) -> str:
    return next((move.act.point for move in moves if isinstance(move.act, Probe)), "")


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
    bench = Bench(case, device)
    for _ in range(_MOST_STEPS):
        option = strategy.choose(bench.case)
        if option in TERMINAL:
            return _ended(bench, option)
        before = bench.case
        step = bench.take(option)
        if watch is not None:
            watch(before, step)
    return _ended(bench, ESCALATE)


def _ended(bench: Bench, option: str) -> Played:
    case, device = bench.case, bench.device
    costs = case.brief.pack.costs
    cured = device.cured
    total = sum((step.cost for step in bench.steps), Cost())
    if option == CLOSE:
        total += handover_cost(case.model, case.situation.configuration)
        total += Cost(harms=0.0 if cured else costs.comeback)
        total += Cost(harms=costs.needless * len(device.sold_in_vain))
    else:
        total += Cost(harms=costs.escalation if option == ESCALATE else costs.lost_job)
    return Played(
        tuple(bench.steps),
        option,
        total,
        case.model.tariff.price(total),
        cured,
        device.sold_in_vain if option == CLOSE else (),
        device.wiped,
    )
