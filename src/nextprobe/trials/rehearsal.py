"""Rehearsal: the same simulated devices under several strategies, and what was believed of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from nextprobe.diagnosis import LOOK_AHEADS, Case
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.errors import MisuseError
from nextprobe.trials.checkpoints import forecasts, placed_readings
from nextprobe.trials.crew import Bench, Crew, Opening, Roots, unheard
from nextprobe.trials.device import SimulatedDevice, families_left
from nextprobe.trials.independent.rates import rate_factors
from nextprobe.trials.independent.worlds import MATCHED
from nextprobe.trials.outcome import outcome_of
from nextprobe.trials.play import Played, play
from nextprobe.trials.ready import Shelf, drawn_faults
from nextprobe.trials.record import DeviceRecord
from nextprobe.trials.strategies import (
    NAMES,
    NEXTPROBE,
    TUNED,
    Advised,
    FixedOrder,
    InformationGain,
    PerfectKnowledge,
    POverC,
    ProbeAll,
    StaticOrder,
    Strategy,
    Weighing,
)
from nextprobe.trials.strategies.tuning import Order, Tuned, tune

Orders = Mapping[str, Order]

SCORING, TRAINING, OBSERVING, TYPES = range(4)
"""Streams of devices and of choices that have nothing in common."""


@dataclass(frozen=True)
class Plan:
    """What is to be rehearsed.

    Parameters
    ----------
    complaints : tuple of str
        Functions that fail, taken in turn.
    devices : int
    seed : int
        Not negative.
    budget : int
        Look-aheads a step, for the advised strategy.
    strategies : tuple of str
        Of NAMES.
    training : int
        Devices of each complaint that the best static order is tuned on; never scored.
    tries : int
        Orders that are tried for it at most.
    calibrate : bool
        Whether forecasts are compared with what is true as well.

    Raises
    ------
    MisuseError
        If there is nothing to play, or a strategy is not known.
    """

    complaints: tuple[str, ...]
    devices: int
    seed: int = 0
    budget: int = LOOK_AHEADS
    strategies: tuple[str, ...] = NAMES
    training: int = 24
    tries: int = 60
    calibrate: bool = True

    def __post_init__(self) -> None:
        if self.devices < 1 or not self.complaints or not self.strategies:
            raise MisuseError("a rehearsal needs a device, a complaint and a strategy at least")
        unknown = [name for name in self.strategies if name not in NAMES]
        if unknown:
            raise MisuseError(f"'{unknown[0]}' is no strategy; known are: {', '.join(NAMES)}")
        if self.seed < 0 or self.training < 1 or self.tries < 1:
            raise MisuseError("a seed is 0 or more; training takes a device and a try at least")

    @property
    def needs_orders(self) -> bool:
        """Whether a static order has to be tuned for each complaint."""
        return not TUNED.isdisjoint(self.strategies)

    def complaint_of(self, number: int) -> str:
        """Return what the customer of a device complains of."""
        return self.complaints[number % len(self.complaints)]


@dataclass(frozen=True)
class Tuning:
    """How far the tuning of a static order is.

    Parameters
    ----------
    complaint : str
    order : int
        Which order is tried, from 1.
    device : int
        Which training device it is played on, from 1.
    """

    complaint: str
    order: int
    device: int


@dataclass(frozen=True)
class Drawn:
    """A device that can be drawn again, the same each time.

    Parameters
    ----------
    shelf : Shelf
    case : Case
        At intake.
    faults : tuple of Candidate
        What is wrong.
    seed : int
    """

    shelf: Shelf
    case: Case
    faults: tuple[Candidate, ...]
    seed: int

    def device(self) -> SimulatedDevice:
        """Return the device as it comes in."""
        first, *also = self.faults
        return self.shelf.device(self.case, first, self.seed, also=also)


def drawn(roots: Roots, plan: Plan, number: int, stream: int = SCORING) -> Drawn:
    """Draw a device by its number; those of different streams have nothing in common."""
    jobs = 1 if stream == TRAINING else len(plan.strategies) + plan.calibrate
    complaint = plan.complaint_of(number)
    rng = np.random.default_rng([plan.seed, stream, number])
    shelf = _shelf_for(roots, plan, number, stream)
    case = roots.case(complaint, jobs) if shelf.kind is None else shelf.case(complaint)
    factors = None
    if shelf.world.rates != 1.0:
        kinds = [item.fault.kind for item in case.model.listed]
        factors = rate_factors(shelf.world, plan.seed, kinds)
    faults = drawn_faults(case, rng, factors)
    return Drawn(shelf, case, faults, int(rng.integers(2**62)))


def _shelf_for(roots: Roots, plan: Plan, number: int, stream: int) -> Shelf:
    """Return the shelf of a device; what orders are tuned on is as the pack says, in any world."""
    if stream == TRAINING:
        return replace(roots.shelf, world=MATCHED)
    kind = np.random.default_rng([plan.seed, TYPES, stream, number])
    return roots.shelf.of_a_type(int(kind.integers(2**31)))


def tuned_orders(
    shelf: Shelf,
    plan: Plan,
    known: Collection[str] = (),
    *,
    processes: int = 1,
    opening: Opening | None = None,
    hear: Callable[[Tuning], None] = unheard,
) -> Iterator[tuple[str, Tuned]]:
    """Tune a static order for each complaint that is not `known`; each is yielded as it is done.

    Parameters are those of :func:`rehearse`; `hear` is called with how far it is, since the
    tuning may take longer than all that is played after it.
    """
    if not plan.needs_orders:
        return
    missing = [name for name in dict.fromkeys(plan.complaints) if name not in known]
    crew = Crew(shelf, processes, opening, hear)
    yield from crew.each(_tuned, [(plan, name) for name in missing])


def rehearse(
    shelf: Shelf,
    plan: Plan,
    orders: Orders | None = None,
    *,
    done: Collection[int] = (),
    processes: int = 1,
    opening: Opening | None = None,
) -> Iterator[DeviceRecord]:
    """Play the same devices under every strategy; each is yielded as soon as it is done.

    Parameters
    ----------
    shelf : Shelf
    plan : Plan
    orders : mapping of str to tuple of str, or None
        The best static order of each complaint, where that is to be played.
    done : collection of int
        Numbers of devices that need not be played again.
    processes : int
        How many to share the work among.
    opening : callable or None
        Opens the shelf anew in another process; without it processes have to be forked.

    Raises
    ------
    MisuseError
        If the best static order of a complaint is missing.
    """
    orders = orders or {}
    if plan.needs_orders and not set(plan.complaints) <= set(orders):
        raise MisuseError("the best static order has to be tuned before it is played")
    numbers = [number for number in range(plan.devices) if number not in done]
    crew = Crew(shelf, processes, opening)
    yield from crew.each(_played, [(plan, orders, number) for number in numbers])


def _tuned(bench: Bench, plan: Plan, complaint: str) -> tuple[str, Tuned]:
    only = Plan((complaint,), plan.training, plan.seed)
    orders = 0

    def cost(order: Order, number: int) -> float:
        nonlocal orders
        orders += number == 0
        bench.tell(Tuning(complaint, orders, number + 1))
        each = drawn(bench.roots, only, number, TRAINING)
        return play(each.case, each.device(), StaticOrder(order)).price

    return complaint, tune(cost, plan.training, plan.tries, plan.seed)


def _played(bench: Bench, plan: Plan, orders: Orders, number: int) -> DeviceRecord:
    each = drawn(bench.roots, plan, number)
    order = orders.get(plan.complaint_of(number), ())
    jobs = {}
    # What is remembered from job to job holds only for what is known of one type of board.
    advised = bench.advised if each.shelf.kind is None else {}
    for name in plan.strategies:
        device = each.device()
        jobs[name] = play(each.case, device, _strategy(advised, plan, name, order, device))
    truth = each.device().truths
    record = DeviceRecord(
        number,
        plan.complaint_of(number),
        tuple(fault.key for fault in truth),
        {name: outcome_of(job) for name, job in jobs.items()},
    )
    if not plan.calibrate:
        return record
    rng = np.random.default_rng([plan.seed, OBSERVING, number])
    stop = _stopped(each.case, jobs[NEXTPROBE]) if NEXTPROBE in jobs else None
    found = forecasts(each.case, each.device(), {fault.family for fault in truth}, rng, stop)
    placed = placed_readings(each.case, each.device(), rng)
    return replace(
        record,
        marginals=found.marginals,
        leading=found.leading,
        places=tuple(reading.place for reading in placed),
        intervals=tuple(reading.interval for reading in placed if reading.interval is not None),
    )


def _stopped(case: Case, job: Played) -> Case:
    return case.after(*(move for step in job.steps for move in step.moves))


def _strategy(
    advised: dict[int, Advised], plan: Plan, name: str, order: Order, device: SimulatedDevice
) -> Strategy:
    match name:
        case "nextprobe":
            return advised.setdefault(plan.budget, Advised(plan.budget))
        case "fixed_order":
            return FixedOrder()
        case "best_static":
            return StaticOrder(order, "best static order")
        case "informed_order":
            return FixedOrder(Weighing())
        case "informed_static":
            return StaticOrder(order, "best static order, informed", Weighing())
        case "probe_all":
            return ProbeAll()
        case "p_over_c":
            return POverC()
        case "information_gain":
            return InformationGain()
        case "perfect_knowledge":
            families = [fault.family for fault in device.truths]
            return PerfectKnowledge(*families, left=lambda: families_left(device))
    raise MisuseError(f"'{name}' is no strategy")
