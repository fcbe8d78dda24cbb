"""Known-good boards of one type of device, taken together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from nextprobe.board import BenchSetup, Meter, OverRange
from nextprobe.reference.good_board import GoodBoard, Value, identity_of

# So many equal readings do not come from two boards by chance, if each is at least so many counts
# of a usual meter: good boards differ by a few counts then, and agree in one reading out of ten.
_TELLING = 5
_COUNTS = 100.0
_METER = Meter()


@dataclass(frozen=True)
class GoodBoards:
    """Records of known-good boards; those of one label are of one board.

    Parameters
    ----------
    records : tuple of GoodBoard
        In the order in which they were kept.
    """

    records: tuple[GoodBoard, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """Labels of the boards, each once, as they were first written."""
        first: dict[str, str] = {}
        for record in self.records:
            first.setdefault(record.identity, record.label)
        return tuple(first.values())

    @property
    def benches(self) -> tuple[BenchSetup, ...]:
        """Set-ups that boards were measured in."""
        return tuple(dict.fromkeys(record.bench for record in self.records))

    def points(self, bench: BenchSetup) -> tuple[str, ...]:
        """Return the points that were measured in a set-up."""
        return tuple(self._by_point.get(bench, {}))

    def at(self, point: str, bench: BenchSetup) -> Mapping[str, Value]:
        """Return what each board reads at a point in one set-up, by label.

        Where one board was measured again, the later reading counts.
        """
        return {record.label: record.values[point] for record in self.behind(point, bench).values()}

    def behind(self, point: str, bench: BenchSetup) -> Mapping[str, GoodBoard]:
        """Return the record that counts for each board at a point, by what it is recognised by."""
        return self._by_point.get(bench, {}).get(point, {})

    def known(self, new: GoodBoard) -> GoodBoard | None:
        """Return a record that says already all that a new one says, or None.

        It is of the same board with the same readings, or of its :meth:`namesake`.
        """
        counts = [self.behind(point, new.bench).get(new.identity) for point in new.values]
        own = [old for old in counts if old is not None]
        if len(own) == len(new.values) and all(_agree(old, new) for old in own):
            return own[-1]
        twin = self.namesake(new)
        return twin if twin is not None and new.values.keys() <= twin.values.keys() else None

    def namesake(self, new: GoodBoard) -> GoodBoard | None:
        """Return a record of another label that looks like the same board, or None.

        All that both read is equal, and at least five readings of it tell boards apart: over-range,
        nothing and a few counts of the meter do not.
        """
        for old in self.records:
            other = old.identity != new.identity and old.bench == new.bench
            if other and _agree(old, new) and _telling(old, new) >= _TELLING:
                return old
        return None

    def with_record(self, new: GoodBoard) -> GoodBoards:
        """Return the same with one more record."""
        return GoodBoards((*self.records, new))

    def without(self, label: str) -> GoodBoards:
        """Return the same without a board."""
        gone = identity_of(label)
        return GoodBoards(tuple(each for each in self.records if each.identity != gone))

    @cached_property
    def _by_point(self) -> dict[BenchSetup, dict[str, dict[str, GoodBoard]]]:
        found: dict[BenchSetup, dict[str, dict[str, GoodBoard]]] = {}
        for record in self.records:
            here = found.setdefault(record.bench, {})
            for point in record.values:
                here.setdefault(point, {})[record.identity] = record
        return found


def _agree(old: GoodBoard, new: GoodBoard) -> bool:
    shared = old.values.keys() & new.values.keys()
    return all(old.values[point] == new.values[point] for point in shared)


def _telling(old: GoodBoard, new: GoodBoard) -> int:
    least = _COUNTS * _METER.range_for(new.bench.mode).resolution
    values = [new.values[point] for point in old.values.keys() & new.values.keys()]
    return sum(1 for value in values if not isinstance(value, OverRange) and value >= least)
