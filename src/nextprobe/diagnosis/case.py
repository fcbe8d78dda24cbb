"""A case: what is known of a device and a complaint, and every move made so far."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from nextprobe.board import GROUND, BenchSetup, Board, Meter, MeterMode, OverRange, Reading
from nextprobe.diagnosis.acts import Act, Move
from nextprobe.diagnosis.choosing import LARGEST_SET, choose_sets
from nextprobe.diagnosis.evidence import donor_readings
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.model import Model, build_model
from nextprobe.diagnosis.predicted import Expectation, Reference
from nextprobe.diagnosis.problem import DiagnosisProblem
from nextprobe.diagnosis.replay import as_they_came, in_order, started
from nextprobe.diagnosis.sharpening import as_now
from nextprobe.diagnosis.situation import Situation
from nextprobe.diagnosis.spoken import say_move
from nextprobe.diagnosis.suspects import Suspect, suspects
from nextprobe.diagnosis.tables import FaultTables
from nextprobe.errors import MisuseError
from nextprobe.packs.schema import Pack
from nextprobe.planning import Limits, Recommendation, recommend
from nextprobe.reference import same_bench

LOOK_AHEADS = 12
"""How many options are valued below the first level before something is recommended."""

References = Mapping[tuple[str, MeterMode], Reference]


@dataclass(frozen=True)
class Brief:
    """What is known when a case is opened or after knowledge was added.

    Parameters
    ----------
    pack : Pack
    complaint : str
        The function that fails.
    board : Board or None
    history : tuple of str
        What happened to the device.
    limits : Limits
        What must not happen.
    references : mapping of (str, MeterMode) to Reference
        Readings of boards that work.
    meter : Meter
    largest_set : int
        Largest number of faults at once that is thought of, 1 to 3.
    """

    pack: Pack
    complaint: str
    board: Board | None = None
    history: tuple[str, ...] = ()
    limits: Limits = field(default_factory=Limits)
    references: References = field(default_factory=dict)
    meter: Meter = field(default_factory=Meter)
    largest_set: int = LARGEST_SET


class Case:
    """The answer to a brief and a list of moves.

    The same input gives the same answer, and between two pieces of work the order of the
    evidence does not matter.

    Parameters
    ----------
    brief : Brief
    moves : sequence of Move
        Everything that was done and seen, in order.
    tables : FaultTables or None
        Fault tables to share with other cases.
    """

    def __init__(
        self, brief: Brief, moves: Sequence[Move] = (), tables: FaultTables | None = None
    ) -> None:
        self.brief = brief
        self.moves = tuple(moves)
        self.tables = tables if tables is not None else FaultTables()
        self.references = {**brief.references, **_from_donors(brief, self.moves)}
        self._alone = self._model()
        self._in_order = self._replayed = started(self._alone)
        self._prepared: dict[tuple[tuple[int, ...], ...], DiagnosisProblem] = {}
        self._weigh()

    def _weigh(self) -> None:
        """Choose the sets of faults that count, and replay all moves under them."""
        ordered = in_order(self.moves)
        self._in_order = self._in_order.with_moves(ordered)
        self.chosen = choose_sets(self._in_order, self.brief.largest_set)
        sets = self.chosen.sets
        if sets not in self._prepared:
            several = self._alone.with_sets(sets, self.chosen.prior) if sets else self._alone
            self._prepared = {
                **({(): self._prepared[()]} if () in self._prepared else {}),
                sets: DiagnosisProblem(several),
            }
        self.problem = self._prepared[sets]
        self.model = self.problem.model
        names = ("complaint", *(say_move(move) for move in self.moves))
        known = self._replayed if self._replayed.model is self.model else started(self.model)
        self._replayed, trail = as_they_came(known, self.moves, self._in_order)
        self.trail = list(zip(names, trail, strict=True))

    def _model(self) -> Model:
        brief = self.brief
        return build_model(
            brief.pack,
            brief.board,
            brief.complaint,
            history=brief.history,
            limits=brief.limits,
            references=self.references,
            meter=brief.meter,
            tables=self.tables,
        )

    @property
    def situation(self) -> Situation:
        """Where the job stands now."""
        return self.trail[-1][1]

    @property
    def unlisted_sets(self) -> tuple[float, float]:
        """What sets of several faults may hold that are not listed: an estimate, and a bound.

        The bound is their prior times the best that any set could have made of the evidence, as
        a share of all; a half or more says nothing.
        """
        if self.brief.largest_set < 2:
            return 0.0, 0.0
        return self.chosen.omitted, self.situation.ensemble.omitted_share

    def after(self, *moves: Move) -> Case:
        """Return the case with more moves."""
        further = (*self.moves, *moves)
        if any(_is_donor(move) for move in moves):
            return Case(self.brief, further, self.tables)
        case = object.__new__(Case)
        case.__dict__.update(self.__dict__)
        case.moves = further
        case._weigh()
        return case

    def suspects(self, most: int | None = None) -> tuple[Suspect, ...]:
        """Return the suspects, likeliest first, with what moved them."""
        return suspects(self.model, self.trail, most)

    def expected(self, point: str, setup: BenchSetup, place: int = -1) -> Expectation | None:
        """Return what is predicted of a reading, as readings before it have sharpened it.

        Parameters
        ----------
        point : str
        setup : BenchSetup
        place : int
            After how many moves; all of them if left out.

        Returns
        -------
        Expectation or None
            None where nothing can be predicted.
        """
        expectations, (_, situation) = self.model.expectations, self.trail[place]
        if expectations is None or not expectations.predicts(point, setup):
            return None
        usual = self.usual(point, setup)
        return as_now(usual, situation, active_sets(self.model, situation.ensemble))

    def usual(self, point: str, setup: BenchSetup) -> Expectation:
        """Return what is predicted of a reading before any other has sharpened it.

        While nothing was read it says nothing of what readings deviate by together.

        Raises
        ------
        MisuseError
            If there is no board, or no such point on it.
        """
        expectations = self.model.expectations
        if expectations is None:
            raise MisuseError("no board is known yet")
        if self.situation.deviating is None:
            return expectations.before(point, setup)
        return expectations.at(point, setup)

    def foresee(self, points: Sequence[str], setup: BenchSetup) -> None:
        """Predict points of a board together, as far as that is faster than one by one."""
        if self.model.expectations is not None and self.situation.deviating is None:
            self.model.expectations.foresee(points, setup)

    def solve_board(self) -> Callable[[], object] | None:
        """Return what prepares the first reading, to be called in any thread; None if all is."""
        expectations = self.model.expectations
        return None if expectations is None else expectations.solve_board(BenchSetup())

    def recommend(self, budget: int = LOOK_AHEADS) -> Recommendation:
        """Return what to do next, and why; `budget` counts look-aheads."""
        return recommend(self.problem, self.situation, budget)


def _is_donor(move: Move) -> bool:
    return bool(donor_readings([move]))


def _from_donors(brief: Brief, moves: Sequence[Move]) -> dict[tuple[str, MeterMode], Reference]:
    if brief.board is None:
        return {}
    by_point: dict[tuple[str, MeterMode], list[Reading]] = {}
    for reading in donor_readings(moves):
        to_ground = reading.setup.clamped == GROUND
        if to_ground and brief.board.has_point(reading.point):
            by_point.setdefault((reading.point, reading.setup.mode), []).append(reading)
    kept = brief.references
    return {
        key: _beside(_pooled(found), kept.get(key) if _plain(found) else None)
        for key, found in by_point.items()
    }


def _pooled(readings: Sequence[Reading]) -> Reference:
    last = readings[-1].value
    source = "donor board in this job"
    if isinstance(last, OverRange):
        return Reference(last, 1, source)
    numbers = [r.value for r in readings if not isinstance(r.value, OverRange)]
    return Reference(float(np.mean(numbers)), 1, source)


def _plain(readings: Sequence[Reading]) -> bool:
    """Tell whether readings were taken as those of known-good boards are: to ground, bare."""
    return all(same_bench(reading.setup) == BenchSetup(reading.setup.mode) for reading in readings)


def _beside(donor: Reference, kept: Reference | None) -> Reference:
    """Return a donor as one more of the boards that were measured one by one before.

    Alone it stands where there are none, or where they and the donor are not in one state.
    """
    if kept is None or kept.spread is None:
        return donor
    if isinstance(donor.value, OverRange) or isinstance(kept.value, OverRange):
        return donor
    mean, spread = kept.spread.with_board(kept.value, kept.boards, donor.value)
    return Reference(mean, kept.boards + 1, f"{donor.source}, {kept.source}", spread)


__all__ = ["Act", "Brief", "Case"]
