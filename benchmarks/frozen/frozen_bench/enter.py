"""Nextprobe's own entry, made from the frozen files alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from frozen_bench.acts import act_from, move_from
from frozen_bench.candidates import repair_chances, repairs_by_family
from frozen_bench.files import PACKS, read
from frozen_bench.packs import board_from, known_good_from, pack_from
from nextprobe.diagnosis import Brief, Case, FaultTables
from nextprobe.planning import Limits

Say = Callable[[str], None]
EVERYDAY_BUDGET = 30


class NextprobeBelief:
    """What Nextprobe believes of devices; cases at intake are kept.

    Parameters
    ----------
    tables : FaultTables or None
        Where fault tables are kept.
    say : callable or None
        Told the name of each device as it is begun.
    """

    def __init__(self, tables: FaultTables | None = None, say: Say | None = None) -> None:
        self._tables = tables if tables is not None else FaultTables()
        self._say = say or (lambda _: None)
        packs = read(PACKS)
        self._packs = {name: pack_from(data["pack"]) for name, data in packs.items()}
        self._boards = {name: board_from(data["board"]) for name, data in packs.items()}
        self._device: tuple[str, Case] | None = None

    def __call__(
        self, pack: Mapping[str, Any], device: Mapping[str, Any], seen: Sequence[tuple[Any, Any]]
    ) -> dict[str, float]:
        """Return the chance of each repair, to six digits."""
        del pack
        start = self._intake(device)
        case = start.after(*(move_from(act_from(act), result) for act, result in seen))
        chances = repair_chances(case, repairs_by_family(start))
        return {name: float(f"{chance:.6g}") for name, chance in chances.items()}

    def _intake(self, device: Mapping[str, Any]) -> Case:
        if self._device is None or self._device[0] != device["id"]:
            self._say(device["id"])
            pack = self._packs[device["pack"]]
            brief = Brief(
                pack,
                device["complaint"],
                self._boards[device["pack"]],
                tuple(device["history"]),
                Limits(ceiling=pack.costs.ceiling),
                known_good_from(device["known_good"]),
            )
            self._device = device["id"], Case(brief, tables=self._tables)
        return self._device[1]
