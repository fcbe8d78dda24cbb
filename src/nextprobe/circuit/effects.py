"""What single faults change in a healthy network; faults that change the same share one effect."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from nextprobe.board import Fault
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.cells import (
    Cell,
    affected_cells,
    branches_of,
    bridge_branches,
    moved_points,
)
from nextprobe.circuit.conditions import conditions_of
from nextprobe.circuit.site import BOARDS_KEPT, Site


@dataclass(frozen=True)
class Effect:
    """A change of the healthy network.

    Parameters
    ----------
    gone : frozenset of str
        Names of branches that are no longer there.
    added : tuple of Branch
        Branches that are new or have other values.
    moved : tuple of (str, str)
        Points under which the node is another one, with that node.
    """

    gone: frozenset[str]
    added: tuple[Branch, ...]
    moved: tuple[tuple[str, str], ...]

    @property
    def is_nothing(self) -> bool:
        """Whether no driven reading can change."""
        return not (self.gone or self.added or self.moved)

    @property
    def electrical(self) -> tuple[object, ...]:
        """What readings depend on."""
        added = tuple(sorted(each.electrical for each in self.added))
        return tuple(sorted(self.gone)), added, self.moved


def effect_of(site: Site, removed: frozenset[str], fault: Fault) -> Effect:
    """Return what `fault` changes at a healthy site from which parts were removed."""
    faulty = site.under(conditions_of(site.board, [fault]))
    cells = [cell for cell in affected_cells(site, fault) if cell.reference not in removed]
    before = _named(site, cells)
    after = _named(faulty, cells) | {each.name: each for each in bridge_branches(faulty)}
    gone = frozenset(name for name, each in before.items() if after.get(name) != each)
    added = tuple(each for name, each in after.items() if before.get(name) != each)
    moved = tuple(sorted(moved_points(faulty.conditions, site).items()))
    return Effect(gone, tuple(each for each in added if each.start != each.end), moved)


def _named(site: Site, cells: Iterable[Cell]) -> dict[str, Branch]:
    return {each.name: each for cell in cells for each in branches_of(site, cell)}


def distinct_effects(
    site: Site, removed: frozenset[str], faults: Sequence[Fault]
) -> tuple[list[Effect], list[int]]:
    """Return the distinct effects of `faults`, and for each fault the index of its own."""
    effects: list[Effect] = []
    known: dict[object, int] = {}
    which: list[int] = []
    kept = {} if site.as_designed is None else _kept(site.as_designed, removed)
    for fault in faults:
        if fault not in kept:
            kept[fault] = effect_of(site, removed, fault)
        effect = kept[fault]
        index = known.setdefault(effect.electrical, len(effects))
        if index == len(effects):
            effects.append(effect)
        which.append(index)
    return effects, which


@lru_cache(BOARDS_KEPT)
def _kept(_board: tuple[str, float], _removed: frozenset[str]) -> dict[Fault, Effect]:
    """Return the effects found so far, to be added to: they are the same under every meter."""
    return {}
