"""Jobs with a hidden fault: ready-made ones from a pack, and ones drawn from its rates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Board, Fault, MeterMode, fault_from_key
from nextprobe.diagnosis import Brief, Case, FaultTables, Reference
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.options import WIPE
from nextprobe.diagnosis.together import Together
from nextprobe.errors import MisuseError
from nextprobe.packs import pack_hash
from nextprobe.packs.schema import Pack, ReadyJob
from nextprobe.planning import Limits
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.independent.bench import BoardType, IndependentBench
from nextprobe.trials.independent.deck import Simulator
from nextprobe.trials.independent.known_good import good_references
from nextprobe.trials.independent.worlds import MATCHED, World
from nextprobe.trials.truth import draw_truth

Floats = NDArray[np.float64]
_TRIES = 50


@dataclass(frozen=True)
class Shelf:
    """What is known of a device before a job: its pack, board and known-good readings.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    references : mapping of (str, MeterMode) to Reference
    tables : FaultTables
        Where fault tables are kept from job to job.
    world : World
        That simulated devices come from.
    simulator : callable or None
        Runs decks, for worlds whose readings are simulated.
    kind : BoardType or None
        The type of board in such a world, once it is drawn.
    """

    pack: Pack
    board: Board | None
    references: Mapping[tuple[str, MeterMode], Reference] = field(default_factory=dict)
    tables: FaultTables = field(default_factory=FaultTables)
    world: World = MATCHED
    simulator: Simulator | None = None
    kind: BoardType | None = None

    def of_a_type(self, seed: int) -> Shelf:
        """Return the shelf of a type of board that is drawn, with what is known of good boards.

        The same shelf where readings are not simulated.

        Raises
        ------
        MisuseError
            If they are and there is no simulator.
        SolverError
            If a good board can not be solved.
        """
        if not self.world.simulated or self.board is None:
            return self
        if self.simulator is None:
            raise MisuseError(f"the world '{self.world.name}' needs a circuit simulator")
        kind = BoardType(self.world, seed, self.simulator)
        known = good_references(self.pack, self.board, self.references, kind)
        return replace(self, references=known, kind=kind)

    def case(
        self, complaint: str, history: tuple[str, ...] = (), *, may_wipe: bool = False
    ) -> Case:
        """Open a case for a complaint; data may be wiped only where that is said."""
        forbidden = frozenset() if may_wipe else frozenset({WIPE})
        limits = Limits(forbidden, self.pack.costs.ceiling)
        brief = Brief(self.pack, complaint, self.board, history, limits, self.references)
        return Case(brief, tables=self.tables)

    def device(
        self,
        case: Case,
        candidate: Candidate,
        seed: int,
        *,
        steady: bool = False,
        also: Sequence[Candidate] = (),
    ) -> SimulatedDevice:
        """Draw a device with a given fault and others; the same seed gives the same device."""
        rng = np.random.default_rng(seed)
        complaint = case.brief.complaint
        bench = self.pack, self.board, complaint
        truth = draw_truth(*bench, candidate, rng, steady=steady, also=also)
        truth = replace(truth, slips_more=self.world.slips)
        other = None
        if self.kind is not None and self.board is not None:
            other = IndependentBench(self.pack, self.board, truth, self.kind, seed)
        return SimulatedDevice(self.pack, self.board, truth, rng, self.references, bench=other)


def shelf_digest(shelf: Shelf) -> str:
    """Return a short name of all that simulated devices depend on, in hexadecimal."""
    board = shelf.board.content if shelf.board is not None else ""
    known = sorted(
        (point, mode.value, repr(good)) for (point, mode), good in shelf.references.items()
    )
    text = repr((pack_hash(shelf.pack), board, known))
    return sha256(text.encode()).hexdigest()


def open_job(shelf: Shelf, name: str) -> Case:
    """Return the case of a ready-made job at its start.

    Raises
    ------
    MisuseError
        If the pack has no such job.
    """
    job = ready_job(shelf.pack, name)
    return shelf.case(job.complaint, job.history, may_wipe=job.may_wipe)


def ready_job(pack: Pack, name: str) -> ReadyJob:
    """Return a ready-made job of a pack; raises MisuseError if there is none of that name."""
    try:
        return pack.jobs[name]
    except KeyError:
        known = ", ".join(sorted(pack.jobs)) or "none"
        raise MisuseError(f"the pack has no job '{name}'; it has: {known}") from None


def job_device(shelf: Shelf, case: Case, name: str, seed: int) -> SimulatedDevice:
    """Return the device of a ready-made job, whose faults are there all the time."""
    keys = ready_job(shelf.pack, name).faults
    first, *also = [candidate_for(case, fault_from_key(key)) for key in keys]
    return shelf.device(case, first, seed, steady=True, also=also)


def candidate_for(case: Case, fault: Fault) -> Candidate:
    """Return the candidate nearest to a fault, with the magnitude of the fault itself.

    Raises
    ------
    MisuseError
        If the fault can not explain the complaint.
    """
    family = [item for item in case.model.listed if item.fault.family == fault.family]
    if not family:
        raise MisuseError(f"{fault.key} does not explain that {case.brief.complaint} fails")
    wanted = fault.magnitude or 0.0
    nearest = min(family, key=lambda item: abs((item.fault.magnitude or 0.0) - wanted))
    return replace(nearest, fault=fault)


def drawn_faults(
    case: Case, rng: np.random.Generator, factors: Floats | None = None
) -> tuple[Candidate, ...]:
    """Draw what is wrong from the rates of the pack, given the complaint: now and then several.

    The chances are those that the inference starts from: a single fault by its prior, and sets of
    two and three by what makes faults come together.

    Parameters
    ----------
    case : Case
        At intake.
    rng : numpy.random.Generator
    factors : ndarray, shape (H,), or None
        What the rates are really multiplied by; 1 if left out.
    """
    first = drawn_candidate(case, rng, factors)
    together, space = case.model.together, case.model.space
    if together is None:
        return (first,)
    pairs = float(together.chances.sum() + sum(chance for _, chance in together.rows))
    if rng.random() >= pairs / (1.0 + pairs):
        return (first,)
    for _ in range(_TRIES):
        drawn = _drawn_set(together, rng, factors)
        one, other = np.array(list(combinations(drawn, 2)), dtype=np.intp).reshape(-1, 2).T
        if len(drawn) > 1 and bool(space.compatible(one, other).all()):
            return tuple(case.model.listed[index] for index in drawn)
    return (first,)


def _drawn_set(
    together: Together, rng: np.random.Generator, factors: Floats | None
) -> tuple[int, ...]:
    """Draw a set of two faults, or three as likely again, of one event or in a row."""
    chances = [*together.chances, *(chance for _, chance in together.rows)]
    shares = np.array(chances) / sum(chances)
    event = int(rng.choice(len(shares), p=shares))
    if event >= len(together.chances):
        return together.rows[event - len(together.chances)][0]
    size = 3 if rng.random() < together.chances[event] else 2
    by_event = _weighed(together.shares[event], factors)
    drawn = rng.choice(len(by_event), size=size, p=by_event)
    return tuple(sorted({int(index) for index in drawn}))


def drawn_candidate(
    case: Case, rng: np.random.Generator, factors: Floats | None = None
) -> Candidate:
    """Draw a fault from the rates of the pack, given the complaint; see :func:`drawn_faults`."""
    chances = _weighed(case.model.prior, factors)
    index = int(rng.choice(len(case.model.listed), p=chances))
    return case.model.listed[index]


def _weighed(chances: Floats, factors: Floats | None) -> Floats:
    if factors is None:
        return chances
    weighed = chances * factors
    return np.asarray(weighed / weighed.sum())
