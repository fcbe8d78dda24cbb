"""Known-good readings of a pack and boards kept in a workshop, made one: nothing counted twice."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from nextprobe.board import BenchSetup, Meter, MeterMode, OverRange, say_value
from nextprobe.errors import Finding, Severity, Where
from nextprobe.packs import Pack
from nextprobe.packs.known_good import KnownGood
from nextprobe.packs.schema import ModeSpread
from nextprobe.reference import Fit, GoodBoards, SpreadPrior, measured_spread, misfits, predictive
from nextprobe.reference.good_board import Value
from nextprobe.reference.misfits import Priors

# Where a pack says nothing of a meter mode, as in the diagnosis.
_ANY_MODE = ModeSpread(model=0.4, between_boards=0.2)
# Boards' worth of evidence for each state of a reading before any board was measured.
_STATE = 0.1
_LABELS_SAID = 4


def priors_of(pack: Pack, rows: Iterable[KnownGood], meter: Meter | None = None) -> Priors:
    """Return what is known of each point before the boards that are kept.

    The spread is the pack's between boards; a reading of the pack is the mean of as many boards
    as it says, in the set-up that it is for.

    Parameters
    ----------
    pack : Pack
    rows : iterable of KnownGood
        Readings of the pack.
    meter : Meter or None
        Its resolution is the least spread.
    """
    known = {(row.point, BenchSetup(row.mode)): row for row in rows}
    ranges = meter or Meter()

    def prior(point: str, bench: BenchSetup, about: float | None) -> SpreadPrior:
        row = known.get((point, bench))
        good = None if row is None or isinstance(row.value, OverRange) else row.value
        typical = good if good is not None else about or 0.0
        spread = max(between_boards(pack, bench.mode, typical),
                     ranges.range_for(bench.mode).resolution)  # fmt: skip
        if row is None:
            return SpreadPrior(spread, over_range=(_STATE, _STATE))
        if good is None:
            return SpreadPrior(spread, over_range=(_STATE + row.boards, _STATE))
        states = (_STATE, _STATE + row.boards)
        return SpreadPrior(spread, mean=good, boards=float(row.boards), over_range=states)

    return prior


def between_boards(pack: Pack, mode: MeterMode, value: float) -> float:
    """Return by how much a pack has good boards differ where they read `value` [V, ohm or F]."""
    settings = pack.readings
    if mode is MeterMode.DIODE:
        return settings.between_boards
    data = settings.modes.get(mode.value, _ANY_MODE)
    return math.hypot(data.between_boards * value, data.floor)


def merged_rows(
    pack: Pack, rows: Iterable[KnownGood], boards: GoodBoards
) -> tuple[tuple[KnownGood, ...], tuple[Finding, ...]]:
    """Return the readings that a job starts from, and boards that do not fit the others.

    Only boards measured bare and to ground count, as the readings of a pack are. Boards that do
    not fit are counted all the same: the findings say so.

    Parameters
    ----------
    pack : Pack
    rows : iterable of KnownGood
        Readings of the pack.
    boards : GoodBoards
        Kept in the workshop.
    """
    merged = {(row.point, row.mode): row for row in rows}
    priors = priors_of(pack, merged.values())
    for mode in MeterMode:
        bench = BenchSetup(mode)
        for point in boards.points(bench):
            known = merged.get((point, mode))
            merged[point, mode] = _row(point, bench, boards.at(point, bench), known, priors)
    odd = misfits(boards, priors)
    return tuple(merged.values()), tuple(misfit_finding(fit) for fit in odd)


def _row(
    point: str,
    bench: BenchSetup,
    values: Mapping[str, Value],
    known: KnownGood | None,
    priors: Priors,
) -> KnownGood:
    numbers = [value for value in values.values() if not isinstance(value, OverRange)]
    about = math.fsum(numbers) / len(numbers) if numbers else None
    prior = priors(point, bench, about)
    found = predictive(list(values.values()), prior)
    over = found.mean is None or found.over_range > 0.5
    behind = [name for name, value in values.items() if isinstance(value, OverRange) is over]
    same = known is not None and isinstance(known.value, OverRange) is over
    counted = len(behind) + (known.boards if known is not None and same else 0)
    value: Value = OverRange.OVER_RANGE if over or found.mean is None else found.mean
    spread = None if over else measured_spread(list(values.values()), prior)
    source = say_source(behind, known if same else None, spread is not None and spread.is_enough)
    return KnownGood(point, bench.mode, value, counted, source, spread=spread)


def say_source(labels: list[str], known: KnownGood | None, measured: bool) -> str:
    """Say what a reading rests on: how many boards, which, and how their spread is known."""
    said = []
    if known is not None:
        counted = f"{known.boards} boards" if known.boards > 1 else "1 board"
        said.append(known.source or f"{counted} of the pack")
    if labels:
        named = ", ".join(labels[:_LABELS_SAID])
        rest = f" and {len(labels) - _LABELS_SAID} more" if len(labels) > _LABELS_SAID else ""
        kept = "1 board" if len(labels) == 1 else f"{len(labels)} boards"
        said.append(f"{kept} kept here ({named}{rest})")
    return " with ".join(said) + (", spread measured between them" if measured else "")


def misfit_finding(fit: Fit) -> Finding:
    """Say that a reading of a known-good board does not fit those of the others, and how far."""
    mode = fit.bench.mode
    here, good = say_value(fit.value, mode), say_value(fit.expected, mode)
    if math.isinf(fit.score):
        others = "over-range" if isinstance(fit.expected, OverRange) else f"about {good}"
        what = f"{here} at {fit.point}, where the other boards read {others}"
    else:
        what = (
            f"{here} at {fit.point} is {abs(fit.score):.1f} standard uncertainties (of "
            f"{say_value(fit.deviation, mode)}) from the {good} that the other boards give"
        )
    remedy = "it is counted all the same: measure it again, then correct the record"
    if fit.number is not None:
        remedy += f" or take it out with: nextprobe good withdraw PACK {fit.number}"
    where = Where(name=f"known-good board {fit.label}")
    return Finding(what, where, remedy, Severity.WARNING)
