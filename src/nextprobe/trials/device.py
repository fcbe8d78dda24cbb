"""A simulated device on a simulated bench: it answers acts and hides its truth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from zlib import crc32

import numpy as np

from nextprobe.board import (
    GROUND,
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    OverRange,
    Reading,
)
from nextprobe.circuit import NOMINAL, Circuit, live_voltage
from nextprobe.diagnosis.acts import (
    DONOR,
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
from nextprobe.diagnosis.expectation import Reference
from nextprobe.diagnosis.fault_sets import FaultSets, closed
from nextprobe.diagnosis.looking import STALE, heard_modules
from nextprobe.diagnosis.repairs import cures_of, refresh_cures
from nextprobe.diagnosis.sightings import of_sets, sightings
from nextprobe.diagnosis.supply import states_of
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Look as LookData
from nextprobe.packs.schema import Pack, SupplyCurrent
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
    """

    def __init__(
        self,
        pack: Pack,
        board: Board | None,
        truth: Truth,
        rng: np.random.Generator,
        references: Mapping[tuple[str, MeterMode], Reference] | None = None,
    ) -> None:
        self._pack = pack
        self._board = board
        self._truth = truth
        self._rng = rng
        self._references = references or {}
        self._meter = Meter()
        self._circuits: dict[tuple[str, tuple[Fault, ...], BenchSetup], Circuit] = {}
        self._computed: dict[tuple[str, tuple[Fault, ...], str, BenchSetup], float | OverRange] = {}
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
        return self._truth.fault

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

    def _chance(self, probability: float) -> bool:
        return bool(self._rng.random() < probability)

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
            bad = self._chance(self._pack.modules[slot].donor_bad)
            self._quality[slot, instance] = bad
        self._touch_seat(slot)

    def _result(self, function: str, confirmed: bool) -> str:
        """Check once; where it is to be confirmed, a failure must come again."""
        result = self._check(function)
        return self._check(function) if confirmed and result == FAILS else result

    def _check(self, function: str) -> str:
        data = self._pack.functions[function]
        shown = [self._chance(hidden.shows[function]) for hidden in self._present()]
        fails = any(shown) or not all(self._instance_works(slot) for slot in data.needs.modules)
        error = data.check.false_pass * self._truth.false_pass
        if not fails:
            error = data.check.false_fail * self._truth.false_fail
        return FAILS if fails != self._chance(error) else WORKS

    def _touch_seat(self, slot: str) -> None:
        seat = self._pack.modules[slot].connector or slot
        seated = Fault(FaultKind.SEATING, seat)
        self._cure([(h, self._pack.work["reseat"].success) for h in self._of(seated)])

    def _of(self, fault: Fault) -> list[Hidden]:
        return [hidden for hidden in self._truth.hidden if hidden.fault == fault]

    def _cure(self, chances: Sequence[tuple[Hidden, float]]) -> None:
        """Take faults away, each with its chance: work that is done well cures all it can."""
        possible = [(hidden, success) for hidden, success in chances if success > 0.0]
        if not possible:
            return
        roll = self._rng.random()
        for hidden, success in possible:
            failure = min(1.0, (1.0 - success) * self._truth.success)
            if roll >= failure and hidden in self._left:
                self._left.remove(hidden)

    def _refresh(self, name: str) -> str:
        refresh = self._pack.refreshes[name]
        if self._chance((1.0 - refresh.success) * self._truth.success):
            return FAILED
        hidden = self._truth.hidden
        chances = refresh_cures(self._pack, [each.candidate for each in hidden], name)
        self._cure(list(zip(hidden, chances.tolist(), strict=True)))
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
            self._cure(chances)
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
        roll = self._rng.random()
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
        slipped = self._chance(self._pack.readings.slip * self._truth.slip)
        value = self._slip(act, setup) if slipped else self._reading(act.point, act.device, setup)
        return Reading(act.point, value, setup)

    def _slip(self, act: Probe, setup: BenchSetup) -> float | OverRange:
        if self._chance(0.4) or self._board is None:
            return OVER_RANGE
        part = self._board.by_reference.get(act.point.partition(".")[0])
        pins = part.pins if part is not None else ()
        if not pins:
            return OVER_RANGE
        pin = pins[int(self._rng.integers(len(pins)))]
        point = f"{part.reference}.{pin.number}" if part else act.point
        return self._reading(point, act.device, setup)

    def _reading(self, point: str, device: str, setup: BenchSetup) -> float | OverRange:
        if self._board is None:
            return OVER_RANGE
        value = self._true_value(point, device, setup)
        if isinstance(value, OverRange):
            return value
        meter = self._meter.range_for(setup.mode)
        noise = self._rng.uniform(-1.0, 1.0) * meter.counts * meter.resolution
        shown = round((value * self._truth.meter_gain + noise) / meter.resolution)
        shown_value = max(0.0, shown * meter.resolution)
        return OVER_RANGE if shown_value > meter.full_scale else float(shown_value)

    def _true_value(self, point: str, device: str, setup: BenchSetup) -> float | OverRange:
        assert self._board is not None
        faulty = self._electrical() if device == PATIENT else ()
        if setup.mode is MeterMode.DC_VOLTS:
            return self._live(point, device)
        found = self._circuit_value(point, device, setup, faulty)
        reference = self._references.get((point, setup.mode)) or self._references.get(
            (self._board.net_of(point), setup.mode)
        )
        if isinstance(found, OverRange):
            return found
        if setup.mode is not MeterMode.DIODE:
            found *= self._habit(point, device, setup)
        if reference is None or setup.clamped != GROUND:
            return found
        nominal = self._circuit_value(point, DONOR, BenchSetup(setup.mode), ())
        if isinstance(nominal, OverRange) or isinstance(reference.value, OverRange):
            return found
        return found * reference.value / nominal if nominal > 1e-3 else found

    def _live(self, point: str, device: str) -> float:
        """Return the voltage of a live rail; one that the pack does not name carries nothing."""
        assert self._board is not None
        net = self._board.net_of(point)
        if net not in self._pack.rails:
            return 0.0
        faults = (*self._electrical(), *self._dead_chips()) if device == PATIENT else ()
        volts = live_voltage(self._board, net, self._pack.rails[net], faults)
        return volts * self._habit(net, device, BenchSetup(MeterMode.DC_VOLTS))

    def _habit(self, point: str, device: str, setup: BenchSetup) -> float:
        """Return the factor by which this board differs at a measurement, whenever it is made.

        The values of parts differ from board to board: tolerances are those of the pack, and
        half as wide again, since nobody knows them well.
        """
        spread = self._pack.readings.modes.get(setup.mode.value)
        if spread is None:
            return 1.0
        name = f"{device} {setup.mode.value} {setup.clamped} {point} {self._truth.meter_gain!r}"
        own = np.random.default_rng(crc32(name.encode()))
        return float(np.exp(1.5 * spread.between_boards * own.uniform(-1.0, 1.0)))

    def _circuit_value(
        self, point: str, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]
    ) -> float | OverRange:
        """Return what one of the boards on this bench shows by its circuit alone."""
        key = device, faulty, point, setup
        if key not in self._computed:
            self._computed[key] = self._circuit(device, setup, faulty).readings([point])[point]
        return self._computed[key]

    def _circuit(self, device: str, setup: BenchSetup, faulty: tuple[Fault, ...]) -> Circuit:
        """Return the patient's circuit, or a nominal one; building one takes long."""
        assert self._board is not None
        key = device, faulty, setup
        if key not in self._circuits:
            meter = self._meter.range_for(setup.mode)
            deviations = self._truth.deviations if device == PATIENT else NOMINAL
            self._circuits[key] = Circuit(self._board, setup, meter, faulty, deviations)
        return self._circuits[key]

    def _gauge(self, stage: str) -> float:
        """Return the current that the device draws from the bench supply [A]."""
        supply = self._pack.supply_current
        assert supply is not None
        data = supply.stages()[stage]
        present = tuple(hidden.fault for hidden in self._present())
        if stage not in self._draws or self._draws[stage][0] != present:
            self._draws[stage] = present, self._drawn_current(supply, stage)
        habit, noise = self._draws[stage][1], self._rng.normal(0.0, 0.05 * data.spread)
        return float(np.clip(habit + noise, 0.0, supply.limit))

    def _drawn_current(self, supply: SupplyCurrent, stage: str) -> float:
        """Draw what this device takes, once until it changes; the oddest of its faults counts."""
        data = supply.stages()[stage]
        drawn = [max(0.0, self._rng.normal(data.mean, data.spread))]
        for hidden in self._present():
            item = replace(hidden.candidate, fault=hidden.fault)
            states = states_of(supply, stage, item, self._board)
            chances = np.array([state.chance for state in states])
            state = states[int(self._rng.choice(len(states), p=chances / chances.sum()))]
            drawn.append(max(0.0, self._rng.normal(state.mean, state.spread)))
        return float(max(drawn, key=lambda amperes: abs(amperes - data.mean)))

    def _electrical(self) -> tuple[Fault, ...]:
        """Return the faults that are left on the board and have a place in its circuit."""
        left = [hidden.fault for hidden in self._left]
        return tuple(f for f in left if f.kind.is_electrical and not f.place.startswith("?"))

    def _dead_chips(self) -> tuple[Fault, ...]:
        """Return the chips that give nothing: they show on live rails only."""
        left = [hidden.fault for hidden in self._left]
        return tuple(f for f in left if f.kind in _IN_A_CHIP and not f.place.startswith("?"))


def _row_of_all(sets: FaultSets) -> int:
    """Return the row of the set of all candidates; the last one, of nothing, if there are none."""
    if sets.count <= 1:
        return 0 if sets.count else -1
    return sets.count + sets.several.index(tuple(range(sets.count)))
