"""Scores of an entry that gives chances to repairs: how sharp, and how often they come true."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frozen_bench.files import DEVICES, PACKS, TRUTH, EntryError, read
from nextprobe.trials.reliability import Tally, reliability, tally

Floats = NDArray[np.float64]
Chances = Mapping[str, float]
DeviceEntry = Mapping[str, Mapping[str, Chances]]
CHECKPOINTS = ("intake", "after 3", "after 10", "everything", "swap")
MATCHED = "matched"


@dataclass(frozen=True, eq=False)
class Judged:
    """One forecast of one device.

    Parameters
    ----------
    device, checkpoint, world : str
    chances : ndarray, shape (N,)
        By candidate.
    needed : ndarray of bool, shape (N,)
        Whether the repair is needed.
    names : tuple of str, length N
    every, leading : Tally
        Of all candidates, and of the leading one alone; compared with the prior.
    """

    device: str
    checkpoint: str
    world: str
    chances: Floats
    needed: NDArray[np.bool_]
    names: tuple[str, ...]
    every: Tally
    leading: Tally

    def hit(self, among: int) -> float:
        """Return the chance that a needed repair is among the first few, ties broken by lot."""
        best = self.chances[self.needed].max()
        ahead = int((self.chances > best).sum())
        equal = self.chances == best
        right, tied, room = int((equal & self.needed).sum()), int(equal.sum()), among - ahead
        if room <= 0:
            return 0.0
        missed = 1.0
        for drawn in range(min(room, tied)):
            missed *= max(0.0, (tied - right - drawn) / (tied - drawn))
        return 1.0 - missed


def prior_of(complaint: Mapping[str, Any], history: Sequence[str]) -> Chances:
    """Return the prior of a device: what the rates say of its complaint and history."""
    found: Chances = complaint["prior"]["+".join(history)]
    return found


def judged_devices(entry: DeviceEntry) -> list[Judged]:
    """Hold the forecasts of an entry against the truth.

    Raises
    ------
    EntryError
        If a device or a checkpoint is missing, or a chance is none.
    """
    packs, truth = read(PACKS), read(TRUTH)
    found = []
    for device in read(DEVICES):
        complaint = packs[device["pack"]]["complaints"][device["complaint"]]
        names = tuple(each["id"] for each in complaint["candidates"])
        prior = _row(prior_of(complaint, device["history"]), names, device["id"])
        known = truth[device["id"]]
        needed = np.array([name in known["repairs"] for name in names])
        for checkpoint in CHECKPOINTS:
            try:
                given = entry[device["id"]][checkpoint]
            except (KeyError, TypeError):
                raise EntryError(f"{device['id']}: no chances '{checkpoint}'") from None
            chances = _row(given, names, f"{device['id']}, {checkpoint}")
            first = [int(chances.argmax())]
            every = tally(chances, needed, prior)
            leading = tally(chances[first], needed[first], prior[first])
            about = device["id"], checkpoint, known["world"]
            found.append(Judged(*about, chances, needed, names, every, leading))
    return found


def _row(given: Chances, names: Sequence[str], where: str) -> Floats:
    """Return the chance of each candidate; those that are not named have none."""
    unknown = set(given) - set(names)
    if unknown:
        raise EntryError(f"{where}: '{sorted(unknown)[0]}' is no candidate of this complaint")
    row = np.array([given.get(name, 0.0) for name in names], dtype=np.float64)
    if not ((row >= 0.0) & (row <= 1.0 + 1e-9)).all():
        raise EntryError(f"{where}: a chance lies between 0 and 1")
    return np.minimum(row, 1.0)


def measures(judged: Sequence[Judged]) -> dict[str, Any]:
    """Return the measures of some forecasts.

    ``log_score`` is minus the logarithm of the chance of what is true of every candidate, summed
    over the candidates of a device and averaged over forecasts [nat]; lower is better.
    """
    by_device: dict[str, list[Judged]] = {}
    for each in judged:
        by_device.setdefault(each.device, []).append(each)

    def of_devices(part: Callable[[Judged], Tally]) -> list[Tally]:
        rows = [[part(each) for each in every] for every in by_device.values()]
        return [sum(rest, start=first) for first, *rest in rows]

    every = reliability(of_devices(lambda each: each.every))
    leading = reliability(of_devices(lambda each: each.leading))
    return {
        "devices": len(by_device),
        "log_score": float(np.mean([each.every.log_score for each in judged])),
        "brier_skill": every.brier_skill,
        "calibration_error": every.ece_debiased,
        "calibration_band95": list(every.ece_band),
        "leading_calibration_error": leading.ece_debiased,
        "leading_band95": list(leading.ece_band),
        "top1": float(np.mean([each.hit(1) for each in judged])),
        "top3": float(np.mean([each.hit(3) for each in judged])),
    }


def device_scores(judged: Sequence[Judged]) -> dict[str, Any]:
    """Return the measures of an entry: of all, by checkpoint, and by where devices come from."""
    matched = [each for each in judged if each.world == MATCHED]
    others = [each for each in judged if each.world != MATCHED]
    parts = {name: [each for each in judged if each.checkpoint == name] for name in CHECKPOINTS}
    worlds = {"as the packs say": matched, "other worlds": others}
    return {
        "all": measures(judged),
        "checkpoints": {name: measures(part) for name, part in parts.items()},
        "worlds": {name: measures(part) for name, part in worlds.items() if part},
    }


def worst(judged: Sequence[Judged], checkpoint: str, count: int) -> list[dict[str, Any]]:
    """Return the devices with the worst log score at a checkpoint, the worst first."""
    there = [each for each in judged if each.checkpoint == checkpoint]
    there.sort(key=lambda each: -each.every.log_score)
    return [
        {
            "device": each.device,
            "log_score": round(each.every.log_score, 2),
            "needed": {
                name: round(float(chance), 4)
                for name, chance, true in zip(each.names, each.chances, each.needed, strict=True)
                if true
            },
            "first": {
                each.names[place]: round(float(each.chances[place]), 4)
                for place in np.argsort(-each.chances, kind="stable")[:3]
            },
        }
        for each in there[:count]
    ]
