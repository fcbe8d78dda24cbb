"""Everything about a complaint that does not change while the job goes on, as arrays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble
from nextprobe.board import Board, FaultKind, Meter, MeterMode
from nextprobe.diagnosis.acts import ORIGINAL
from nextprobe.diagnosis.candidates import Candidate, candidates, seats
from nextprobe.diagnosis.expectation import Expectations
from nextprobe.diagnosis.fault_sets import FaultSets
from nextprobe.diagnosis.predicted import Reference
from nextprobe.diagnosis.priors import prior_chances
from nextprobe.diagnosis.repairs import Repair, refresh_cures, repairs
from nextprobe.diagnosis.set_space import SetSpace
from nextprobe.diagnosis.sightings import of_sets, sightings
from nextprobe.diagnosis.situation import (
    ACTIVE,
    CURED_AT,
    HYPOTHESIS,
    Situation,
    jointly,
    shows,
)
from nextprobe.diagnosis.tables import FaultTables
from nextprobe.diagnosis.together import Together, faults_together
from nextprobe.errors import MisuseError
from nextprobe.packs.schema import Function, Look, Pack
from nextprobe.planning import Configuration, Limits, Tariff

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

_OF_CANDIDATES = (
    "cure_chances",
    "families",
    "first_of_family",
    "look_rows_alone",
    "module_faults",
    "refresh_cures",
    "space",
    "telling_looks",
    "work_by_id",
    "_stops",
)


@dataclass(frozen=True, eq=False)
class Model:
    """A complaint about a device, ready for inference.

    Parameters
    ----------
    pack : Pack
    board : Board or None
        What is known of the circuit; None for a job from a complaint alone.
    complaint : str
        The function that fails.
    listed : tuple of Candidate, length H
    prior : ndarray, shape (H,)
    work : tuple of Repair
    limits : Limits
        What must not happen.
    expectations : Expectations or None
        Predicted readings, where there is a board.
    sets : FaultSets
        What may be wrong at once: the H candidates alone, then C sets of several.
    set_prior : ndarray, shape (C,)
        Prior of these sets on the scale of `prior`, which sums to one without them.
    together : Together or None
        How likely faults come together; None if they never do.
    """

    pack: Pack
    board: Board | None
    complaint: str
    listed: tuple[Candidate, ...]
    prior: FloatArray
    work: tuple[Repair, ...]
    limits: Limits
    expectations: Expectations | None
    sets: FaultSets
    set_prior: FloatArray
    together: Together | None = None

    @property
    def function(self) -> Function:
        """The function that fails."""
        return self.pack.functions[self.complaint]

    @cached_property
    def tariff(self) -> Tariff:
        """What time is worth in this shop."""
        costs = self.pack.costs
        return Tariff(costs.attended_per_hour / 3600.0, costs.elapsed_per_hour / 3600.0)

    @cached_property
    def work_by_id(self) -> Mapping[str, Repair]:
        """Work by its id."""
        return {item.id: item for item in self.work}

    @cached_property
    def cure_chances(self) -> FloatArray:
        """Chance that each work cures each candidate, shape (W, H)."""
        chances = np.zeros((len(self.work), len(self.listed)))
        for row, item in enumerate(self.work):
            for index, chance in item.cures:
                chances[row, index] = chance
        return chances

    @cached_property
    def refresh_cures(self) -> Mapping[str, FloatArray]:
        """Chance that each finished refresh cures each candidate; shape (H,) each."""
        return {n: refresh_cures(self.pack, self.listed, n) for n in self.pack.refreshes}

    @cached_property
    def look_rows(self) -> Mapping[str, Mapping[str, FloatArray]]:
        """Chance of each outcome of each look under each set, then none; shape (S + 1,) each."""
        return {name: of_sets(rows, self.sets) for name, rows in self.look_rows_alone.items()}

    @cached_property
    def look_rows_alone(self) -> Mapping[str, Mapping[str, FloatArray]]:
        """The same under each candidate alone, then none; shape (H + 1,) each."""
        return {name: sightings(look, self.listed) for name, look in self.pack.looks.items()}

    @cached_property
    def telling_looks(self) -> tuple[str, ...]:
        """Looks whose outcome depends on the candidate at all."""
        return tuple(
            name
            for name, rows in self.look_rows_alone.items()
            if self._nearby(self.pack.looks[name])
            and any(np.ptp(chances) > 0.0 for chances in rows.values())
        )

    def _nearby(self, look: Look) -> bool:
        own_place = look.connector is None or look.connector in self.seats
        return own_place and look.function in (None, self.complaint)

    @cached_property
    def world_class(self) -> NDArray[np.intp]:
        """Class of each set, equal where every repair does the same to each member, shape (S,)."""
        seats = [self.of_kind(FaultKind.SEATING, seat) for seat in self.seats]
        rows = [self.cure_chances, *self.refresh_cures.values(), *seats]
        stacked = np.vstack([*rows, *self.module_faults.values()])
        alone = np.unique(stacked, axis=1, return_inverse=True)[1].reshape(-1).astype(np.intp)
        if not self.sets.several:
            return alone
        members = np.append(alone, -1)[self.sets.members]
        return np.unique(members, axis=0, return_inverse=True)[1].reshape(-1).astype(np.intp)

    def stops(self, function: str) -> FloatArray:
        """Return the chance that each candidate stops a function, shape (H,)."""
        return self._stops[function]

    @cached_property
    def _stops(self) -> Mapping[str, FloatArray]:
        return {
            name: np.array([item.stops.get(name, 0.0) for item in self.listed])
            for name in self.pack.functions
        }

    def of_kind(self, kind: FaultKind, place: str | None = None) -> BoolArray:
        """Return which candidates are of a kind (and at a place), shape (H,)."""
        return np.array(
            [
                item.fault.kind is kind and (place is None or item.fault.place == place)
                for item in self.listed
            ],
            dtype=np.bool_,
        )

    @cached_property
    def module_faults(self) -> Mapping[str, BoolArray]:
        """Which candidates go away with the original of each module; shape (H,) each."""
        return {slot: self.of_kind(FaultKind.MODULE_BAD, slot) for slot in self.slots}

    @property
    def slots(self) -> tuple[str, ...]:
        """Modules that the function needs."""
        return self.function.needs.modules

    @property
    def seats(self) -> tuple[str, ...]:
        """Places where those modules plug in."""
        return seats(self.pack, self.function)

    def seat_of(self, slot: str) -> str:
        """Return the place where a module plugs in."""
        return self.pack.modules[slot].connector or slot

    @cached_property
    def families(self) -> tuple[tuple[str, ...], NDArray[np.intp]]:
        """Names of the families of candidates, and the family of each candidate, shape (H,)."""
        each = [item.fault.family for item in self.listed]
        place = {name: index for index, name in enumerate(dict.fromkeys(each))}
        return tuple(place), np.array([place[name] for name in each], dtype=np.intp)

    @cached_property
    def first_of_family(self) -> IntArray:
        """The first candidate of each family, shape (N,)."""
        return np.unique(self.families[1], return_index=True)[1]

    @cached_property
    def space(self) -> SetSpace:
        """What sets can be made of the candidates."""
        return SetSpace(self.listed)

    @cached_property
    def whole_prior(self) -> FloatArray:
        """Prior of every set, shape (S,); sums to one."""
        every = np.concatenate([self.prior, self.set_prior])
        return np.asarray(every / every.sum()) if self.sets.several else self.prior

    @property
    def log_unlisted_sets(self) -> float:
        """Logarithm of an upper bound on the prior of all sets of several that are not listed."""
        if self.together is None:
            return -math.inf
        left = max(0.0, self.together.ceiling - float(self.set_prior.sum()))
        total = float(self.prior.sum() + self.set_prior.sum())
        return math.log(left / total) if left > 0.0 else -math.inf

    def with_sets(self, sets: Sequence[tuple[int, ...]], prior: FloatArray) -> Model:
        """Return the model with other sets of several faults; see :class:`FaultSets`."""
        chosen = FaultSets(len(self.listed), tuple(sets))
        readings = self.expectations.with_sets(chosen) if self.expectations else None
        several = replace(self, sets=chosen, set_prior=prior, expectations=readings)
        # What is known of the candidates does not depend on the sets, and takes long.
        several.__dict__.update({name: getattr(self, name) for name in _OF_CANDIDATES})
        return several

    def start(self) -> Situation:
        """Return the situation when the device comes in, the complaint being all that is known.

        That the customer saw the function fail rules out that the fault never shows; whether it
        always shows or comes and goes is drawn once per device. A set counts only members that
        show themselves: a fault that never does is not what the customer came for.
        """
        count = len(self.sets)
        with np.errstate(divide="ignore"):
            weights = np.log(self.whole_prior)
        ensemble = Ensemble(
            weights,
            {
                HYPOTHESIS: np.arange(count),
                ACTIVE: self.sets.whole,
                CURED_AT: np.zeros(count, dtype=np.intp),
            },
            self.log_unlisted_sets,
        )
        intermittent = self.function.intermittent
        showing = np.array([0.0, 1.0 - intermittent, intermittent])
        drawn = np.where(
            (self.sets.members < self.sets.count)[:, :, None], showing, np.array([1.0, 0.0, 0.0])
        )
        chances = jointly(drawn)
        codes = np.arange(chances.shape[1])
        ensemble = ensemble.split(shows(self.complaint), codes, chances)
        fitted = dict.fromkeys(self.pack.modules, ORIGINAL)
        known = frozenset((slot, ORIGINAL) for slot in self.pack.modules)
        failed = frozenset((slot, ORIGINAL) for slot in self.slots)
        return Situation(ensemble, Configuration(fitted=fitted, recognised=known), failed=failed)


def build_model(
    pack: Pack,
    board: Board | None,
    complaint: str,
    *,
    history: Sequence[str] = (),
    limits: Limits | None = None,
    references: Mapping[tuple[str, MeterMode], Reference] | None = None,
    meter: Meter | None = None,
    tables: FaultTables | None = None,
) -> Model:
    """Prepare a complaint for inference.

    Raises
    ------
    MisuseError
        If the pack has no such function, or does not know a word of the history.
    """
    if complaint not in pack.functions:
        known = ", ".join(sorted(pack.functions))
        raise MisuseError(f"'{complaint}' is not a function of this device; it has: {known}")
    listed = candidates(pack, board, complaint)
    prior = prior_chances(pack, board, complaint, history, listed)
    expectations = None
    if board is not None:
        expectations = Expectations(
            pack,
            board,
            listed,
            complaint,
            references=references or {},
            meter=meter or Meter(),
            tables=tables or FaultTables(),
        )
    work = repairs(pack, board, listed)
    return Model(
        pack,
        board,
        complaint,
        listed,
        prior,
        work,
        limits or Limits(),
        expectations,
        FaultSets(len(listed)),
        np.zeros(0),
        faults_together(pack, board, history, listed, prior),
    )
