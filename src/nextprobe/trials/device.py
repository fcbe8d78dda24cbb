"""A simulated device on a simulated bench: it answers acts and hides its truth."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from nextprobe.board import (
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    MeterMode,
    Reading,
)
from nextprobe.diagnosis.acts import (
    FAILED,
    FAILS,
    FINISHED,
    NOTHING,
    ORIGINAL,
    PATIENT,
    WORKS,
    Act,
    Check,
    Fit,
    Gauge,
    Look,
    Move,
    Probe,
    Refresh,
    Work,
)
from nextprobe.diagnosis.codes import as_look
from nextprobe.diagnosis.fault_sets import FaultSets, closed
from nextprobe.diagnosis.looking import STALE, heard_modules
from nextprobe.diagnosis.predicted import Reference
from nextprobe.diagnosis.repairs import cures_of, refresh_cures
from nextprobe.diagnosis.sightings import of_sets, sightings
from nextprobe.diagnosis.supply import states_of
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Look as LookData
from nextprobe.packs.schema import Pack, SupplyCurrent
from nextprobe.trials.bench_board import BenchBoard
from nextprobe.trials.chances import Chances
from nextprobe.trials.truth import Hidden, Truth

_IN_A_CHIP = (FaultKind.NO_OUTPUT, FaultKind.CHIP_DEAD)


class SimulatedDevice:
    """A device with hidden faults; every answer is drawn with the chances of its truth.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    truth : Truth
    rng : numpy.random.Generator
    references : mapping of (str, MeterMode) to Reference
        Where good boards of this type read: the device is one of them, but for its fault.
    bench : BenchBoard or None
        The boards on the bench; made from all these if left out.
    """

    def __init__(
        self,
        pack: Pack,
        board: Board | None,
        truth: Truth,
        rng: np.random.Generator,
        references: Mapping[tuple[str, MeterMode], Reference] | None = None,
        *,
        bench: BenchBoard | None = None,
    ) -> None:
        self._pack = pack
        self._board = board
        self._truth = truth
        self._chances = Chances(int(rng.integers(2**63)))
        known = references or {}
        if bench is None and board is not None:
            bench = BenchBoard(pack, board, truth, known)
        self._bench = bench
        self._draws: dict[str, tuple[tuple[Fault, ...], float]] = {}
        self._removed: frozenset[str] = frozenset()
        self._left = list(truth.hidden)
        self._fitted = dict.fromkeys(pack.modules, ORIGINAL)
        self._recognised = {(slot, ORIGINAL) for slot in pack.modules}
        self._seen: dict[str, str] = {}
        self._quality: dict[tuple[str, str], bool] = {}
        self.wiped = False

    @property
    def truth(self) -> Fault:
        """What is really wrong, the first of several; to be told when a job is over."""
        return self._truth.hidden[0].fault

    @property
    def truths(self) -> tuple[Fault, ...]:
        """All that is really wrong; to be told when a job is over."""
        return tuple(hidden.fault for hidden in self._truth.hidden)

    @property
    def cured(self) -> bool:
        """Whether the complaint is really gone; for scoring, never shown to a strategy."""
        return not self._present() and all(self._instance_works(slot) for slot in self._fitted)

    @property
    def sold_in_vain(self) -> tuple[str, ...]:
        """Modules that stay replaced though the original was good; for scoring."""
        return tuple(
            slot
            for slot, instance in self._fitted.items()
            if instance != ORIGINAL and Fault(FaultKind.MODULE_BAD, slot) not in self.truths
        )

    def answer(self, act: Act) -> Move:
        """Do an act and return what came of it."""
        match act:
            case Check(function, times, confirmed):
                results = {self._result(function, confirmed) for _ in range(times)}
                return Move(act, FAILS if FAILS in results else WORKS)
            case Fit(slot, instance):
                self._fit(slot, instance)
                return Move(act)
            case Refresh(name):
                result = self._refresh(name)
                return Move(act, result, code=self._code(name) if result == FAILED else "")
            case Work(name, place):
                self._work(name, place)
                return Move(act)
            case Look(name):
                return Move(act, self._look(name))
            case Gauge(stage):
                return Move(act, repr(self._gauge(stage)))
            case Probe():
                return Move(act, "", self._probe(act))

    def answer_all(self, acts: Sequence[Act]) -> list[Move]:
        """Do acts in order, stopping where a refresh fails."""
        moves: list[Move] = []
        for act in acts:
            moves.append(self.answer(act))
            if moves[-1].result == FAILED:
                break
        return moves

    def _present(self) -> list[Hidden]:
        """Return the faults that are left and not in a module that is out of the device."""
        return [
            hidden
            for hidden in self._left
            if hidden.fault.kind is not FaultKind.MODULE_BAD
            or self._fitted.get(hidden.fault.place) == ORIGINAL
        ]

    def _instance_works(self, slot: str) -> bool:
        return not self._unknown(slot) and not self._bad(slot)

    def _unknown(self, slot: str) -> bool:
        """Tell whether the firmware does not know what is fitted."""
        late = self._pack.modules[slot].recognised == "after refresh"
        return late and (slot, self._fitted[slot]) not in self._recognised

    def _bad(self, slot: str) -> bool:
        """Tell whether an instance from the shelf is bad."""
        return self._quality.get((slot, self._fitted[slot]), False)

    def _fit(self, slot: str, instance: str) -> None:
        self._fitted[slot] = instance
        if instance != ORIGINAL and (slot, instance) not in self._quality:
            roll = self._chances.once(f"quality of {instance} {slot}").random()
            self._quality[slot, instance] = bool(roll < self._pack.modules[slot].donor_bad)
        self._touch_seat(slot)

    def _result(self, function: str, confirmed: bool) -> str:
        """Check once; where it is to be confirmed, a failure must come again."""
        result = self._check(function)
        return self._check(function) if confirmed and result == FAILS else result

    def _check(self, function: str) -> str:
        rolls = self._chances.again(f"check {function}")
        data = self._pack.functions[function]
        shown = [rolls.random() < hidden.shows[function] for hidden in self._present()]
        fails = any(shown) or not all(self._instance_works(slot) for slot in data.needs.modules)
        error = data.check.false_pass * self._truth.false_pass
        if not fails:
            error = data.check.false_fail * self._truth.false_fail
        return FAILS if fails != (rolls.random() < error) else WORKS

    def _touch_seat(self, slot: str) -> None:
        seat = self._pack.modules[slot].connector or slot
        seated = Fault(FaultKind.SEATING, seat)
        chances = [(h, self._pack.work["reseat"].success) for h in self._of(seated)]
        self._cure(f"reseat {seat}", chances)

    def _of(self, fault: Fault) -> list[Hidden]:
        return [hidden for hidden in self._truth.hidden if hidden.fault == fault]

    def _cure(self, name: str, chances: Sequence[tuple[Hidden, float]]) -> None:
        """Take faults away, each with its chance: work that is done well cures all it can."""
        fails = self._attempt(name)
        for hidden, success in chances:
            if success > 0.0 and hidden in self._left and not fails(1.0 - success):
                self._left.remove(hidden)

    def _attempt(self, name: str) -> Callable[[float], bool]:
        """Try some work once; what comes back tells whether what fails by a chance has failed."""
        roll = self._chances.again(f"attempt at {name}").random()
        obstinacy = self._chances.obstinacy(name)
        wider = self._truth.success
        return lambda chance: bool(roll < obstinacy.chance(min(1.0, chance * wider)))

    def _refresh(self, name: str) -> str:
        refresh = self._pack.refreshes[name]
        if self._attempt(f"refresh {name}")(1.0 - refresh.success):
            return FAILED
        hidden = self._truth.hidden
        chances = refresh_cures(self._pack, [each.candidate for each in hidden], name)
        self._cure(f"curing by {name}", list(zip(hidden, chances.tolist(), strict=True)))
        self._recognised |= set(self._fitted.items())
        self.wiped = self.wiped or not refresh.keeps_data
        return FINISHED

    def _code(self, name: str) -> str:
        """Return the error code of a refresh that has just failed, if it shows one."""
        shown = self._drawn_look(as_look(self._pack.refreshes[name]))
        return "" if shown == NOTHING else shown

    def _work(self, name: str, place: str) -> None:
        if self._pack.work[name].removes:
            self._removed |= {place}
        else:
            self._removed -= {place}
        chances = [
            (hidden, success)
            for hidden in self._truth.hidden
            for work, where, success in cures_of(self._pack, self._board, hidden.fault)
            if (work, where) == (name, place)
        ]
        if chances:
            self._cure(f"{name} {place}", chances)
            self._seen.clear()

    def _look(self, name: str) -> str:
        look = self._pack.looks[name]
        heard = heard_modules(self._pack, look)
        ill = [s for s in heard if not self._instance_works(s)]
        present = [hidden.fault.key for hidden in self._present()]
        key = f"{name} {present} {[(s, self._unknown(s)) for s in ill]}"
        if key not in self._seen:
            self._seen[key] = self._drawn_look(look)
        return self._seen[key]

    def _drawn_look(self, look: LookData) -> str:
        roll = self._chances.again(f"look {look.title}").random()
        for outcome in look.outcomes:
            roll -= self._look_chance(look, outcome)
            if roll < 0.0:
                return outcome
        return NOTHING

    def _look_chance(self, look: LookData, outcome: str) -> float:
        chances = look.outcomes[outcome]
        for slot in heard_modules(self._pack, look):
            if not self._instance_works(slot):
                word = STALE if self._unknown(slot) else Cause.MODULE.value
                return chances.get(word, chances.get("otherwise", 0.0))
        present = [hidden.candidate for hidden in self._present()]
        several = [tuple(range(len(present)))] if len(present) > 1 else []
        sets = FaultSets(len(present), closed(several))
        rows = of_sets(sightings(look, present), sets)[outcome]
        return float(rows[_row_of_all(sets)])

    def _probe(self, act: Probe) -> Reading:
        """Touch a point; a known-good board is another board of the type without the fault."""
        removed = self._removed if act.device == PATIENT else frozenset()
        setup = BenchSetup(act.mode, act.clamped, removed=removed)
        if self._bench is None:
            return Reading(act.point, OVER_RANGE, setup)
        touch = self._chances.again(f"touch {act.device} {act.point} {act.mode} {act.clamped}")
        value = self._bench.reading(act, setup, self._on_the_board(), touch)
        return Reading(act.point, value, setup)

    def _gauge(self, stage: str) -> float:
        """Return the current that the device draws from the bench supply [A]."""
        supply = self._pack.supply_current
        assert supply is not None
        data = supply.stages()[stage]
        present = tuple(hidden.fault for hidden in self._present())
        if stage not in self._draws or self._draws[stage][0] != present:
            self._draws[stage] = present, self._drawn_current(supply, stage)
        touch = self._chances.again(f"reading of the current {stage}")
        habit, noise = self._draws[stage][1], touch.normal(0.0, 0.05 * data.spread)
        return float(np.clip(habit + noise, 0.0, supply.limit))

    def _drawn_current(self, supply: SupplyCurrent, stage: str) -> float:
        """Draw what this device takes, once until it changes; the oddest of its faults counts."""
        data = supply.stages()[stage]
        rng = self._chances.again(f"current {stage}")
        drawn = [max(0.0, rng.normal(data.mean, data.spread))]
        for hidden in self._present():
            item = replace(hidden.candidate, fault=hidden.fault)
            states = states_of(supply, stage, item, self._board)
            chances = np.array([state.chance for state in states])
            state = states[int(rng.choice(len(states), p=chances / chances.sum()))]
            drawn.append(max(0.0, rng.normal(state.mean, state.spread)))
        return float(max(drawn, key=lambda amperes: abs(amperes - data.mean)))

    def _on_the_board(self) -> tuple[Fault, ...]:
        """Return the faults that are left on the board; chips that give nothing among them."""
        left = [hidden.fault for hidden in self._left if hidden.candidate.located]
        return tuple(f for f in left if f.kind.is_electrical or f.kind in _IN_A_CHIP)


def families_left(device: SimulatedDevice) -> tuple[str, ...]:
    """Return what is still wrong, by family; for whoever is allowed to know everything."""
    return tuple(dict.fromkeys(hidden.fault.family for hidden in device._left))


def _row_of_all(sets: FaultSets) -> int:
    """Return the row of the set of all candidates; the last one, of nothing, if there are none."""
    if sets.count <= 1:
        return 0 if sets.count else -1
    return sets.count + sets.several.index(tuple(range(sets.count)))
