"""Devices with hidden faults, and all that could be observed of them, drawn once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from frozen_bench.acts import act_data, acts_offered, result_data
from frozen_bench.candidates import repair_of
from frozen_bench.packs import known_good_data
from nextprobe.diagnosis import Act, Case, Check, Gauge, Look
from nextprobe.diagnosis.acts import DONOR, ORIGINAL, Fit, Refresh
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.options import gentle_refresh
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.independent.deck import Simulator
from nextprobe.trials.independent.rates import rate_factors
from nextprobe.trials.independent.worlds import WORLDS
from nextprobe.trials.ready import Shelf, drawn_faults

# How many devices of a pack come from each world.
WORLD_COUNTS = {
    "matched": 34,
    "clamps": 4,
    "heavy tails": 4,
    "other meter": 4,
    "rates times three": 4,
    "slips": 2,
    "temperature": 2,
    "biased": 2,
    "everything": 4,
}
AFTER = (3, 10)
_NO_HISTORY = 0.6
# What is observed next: a kind by its share, then any act of the kind.
_SHARES = {Look: 0.3, Check: 0.25, Gauge: 0.05}
_READING_SHARE = 0.4


@dataclass(frozen=True)
class DrawnDevice:
    """One device: what is public, and the truth."""

    public: dict[str, Any]
    truth: dict[str, Any]


def worlds_of_a_pack(devices: int) -> list[str]:
    """Return the world of each device, by number; the list is gone through again where short."""
    every = [name for name, count in WORLD_COUNTS.items() for _ in range(count)]
    return [every[number % len(every)] for number in range(devices)]


def drawn_devices(
    shelf: Shelf, short: str, devices: int, seed: int, simulator: Simulator
) -> Iterator[DrawnDevice]:
    """Draw devices of a pack, its complaints in turn.

    Parameters
    ----------
    shelf : Shelf
    short : str
        Name of the pack.
    devices, seed : int
    simulator : callable
        Runs decks, for the worlds that need it.
    """
    complaints = list(shelf.pack.functions)
    offered = {name: acts_offered(shelf.case(name)) for name in complaints}
    for number, world in enumerate(worlds_of_a_pack(devices)):
        rng = np.random.default_rng([seed, number])
        there = replace(shelf, world=WORLDS[world], simulator=simulator)
        there = there.of_a_type(int(rng.integers(2**31)))
        complaint = complaints[number % len(complaints)]
        case = there.case(complaint, _history(shelf, rng))
        if acts_offered(case) != offered[complaint]:
            raise AssertionError(f"{complaint}: what can be observed depends on the device")
        yield _drawn(there, case, f"{short} {number:02d}", rng, seed)


def _history(shelf: Shelf, rng: np.random.Generator) -> tuple[str, ...]:
    if rng.random() < _NO_HISTORY:
        return ()
    known = sorted(shelf.pack.history)
    return (known[int(rng.integers(len(known)))],)


def _drawn(shelf: Shelf, case: Case, name: str, rng: np.random.Generator, seed: int) -> DrawnDevice:
    factors = None
    if shelf.world.rates != 1.0:
        factors = rate_factors(shelf.world, seed, [item.fault.kind for item in case.model.listed])
    faults = drawn_faults(case, rng, factors)
    device = _device(shelf, case, faults, int(rng.integers(2**62)))
    acts = acts_offered(case)
    order = observing_order(acts, rng)
    seen = [[place, result_data(device.answer(acts[place]))] for place in order]
    swap = _swap(case, device, rng)
    public: dict[str, Any] = {
        "id": name,
        "pack": name.rpartition(" ")[0],
        "complaint": case.brief.complaint,
        "history": list(case.brief.history),
        "observations": seen,
        "swap": swap,
        "checkpoints": checkpoints(len(seen), len(swap)),
    }
    if shelf.kind is not None:
        public["known_good"] = known_good_data(shelf.references)
    truth = {
        "world": shelf.world.name,
        "faults": [fault.key for fault in device.truths],
        "repairs": sorted({repair_of(case, item) for item in faults}),
    }
    return DrawnDevice(public, truth)


def _device(shelf: Shelf, case: Case, faults: Sequence[Candidate], seed: int) -> SimulatedDevice:
    first, *also = faults
    return shelf.device(case, first, seed, also=also)


def checkpoints(seen: int, swap: int) -> dict[str, int]:
    """Return how many observations each checkpoint has seen, the swap counted after them."""
    after = {f"after {count}": count for count in AFTER}
    return {"intake": 0, **after, "everything": seen, "swap": seen + swap}


def observing_order(acts: Sequence[Act], rng: np.random.Generator) -> list[int]:
    """Return the order in which acts are done: kinds by their share, any act of a kind alike."""
    left: dict[type, list[int]] = {}
    for place, act in enumerate(acts):
        left.setdefault(type(act), []).append(place)
    order = []
    while left:
        kinds = list(left)
        shares = np.array([_SHARES.get(kind, _READING_SHARE) for kind in kinds])
        kind = kinds[int(rng.choice(len(kinds), p=shares / shares.sum()))]
        order.append(left[kind].pop(int(rng.integers(len(left[kind])))))
        if not left[kind]:
            del left[kind]
    return order


def _swap(case: Case, device: SimulatedDevice, rng: np.random.Generator) -> list[list[Any]]:
    """Fit a known-good module of the function, check, and put the original back, and check."""
    pack, complaint = case.brief.pack, case.brief.complaint
    modules = pack.functions[complaint].needs.modules
    if not modules:
        return []
    slot = modules[int(rng.integers(len(modules)))]
    gentle = gentle_refresh(pack)
    late = pack.modules[slot].recognised == "after refresh" and gentle is not None
    acts: list[Act] = [Fit(slot, DONOR)]
    acts += [Refresh(gentle)] if late and gentle is not None else []
    acts += [Check(complaint), Fit(slot, ORIGINAL), Check(complaint)]
    return [[act_data(act), result_data(device.answer(act))] for act in acts]
