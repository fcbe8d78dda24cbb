"""Names in a pack that have to exist on its board."""

from __future__ import annotations

import fnmatch
from collections.abc import Collection, Iterable, Iterator, Mapping

from nextprobe.board import ELECTRICAL, Board, Fault, FaultKind, PartKind, fault_from_key
from nextprobe.errors import Finding, Where
from nextprobe.packs.advice import place, suggestion
from nextprobe.packs.schema import Pack

_ON_PARTS = ELECTRICAL | {FaultKind.NO_OUTPUT, FaultKind.CHIP_DEAD}


def missing_on_board(
    pack: Pack, board: Board, source: str, lines: Mapping[str, int] | None = None
) -> tuple[Finding, ...]:
    """Return a finding for each name in `pack` that `board` lacks.

    Parameters
    ----------
    pack : Pack
        Connectors, chips, nets, rails, weak spots and the places of faults are looked up.
    board : Board
        The board of the device.
    source : str
        File name of the pack.
    lines : mapping of str to int, optional
        Line of each dotted path.
    """
    connectors = _of_kind(board, PartKind.CONNECTOR)
    chips = _of_kind(board, PartKind.CHIP)
    checks: list[tuple[str, Iterable[str], Collection[str]]] = [
        (f"modules.{name}.connector", filter(None, [module.connector]), connectors)
        for name, module in pack.modules.items()
    ]
    for name, function in pack.functions.items():
        path = f"functions.{name}.needs"
        checks.append((f"{path}.connectors", function.needs.connectors, connectors))
        checks.append((f"{path}.chips", function.needs.chips, chips))
        checks.append((f"{path}.nets", function.needs.nets, board.nets))
        checks.append((f"{path}.rails", function.needs.rails, board.nets))
    checks.append(("chips", pack.chips, chips))
    for path, words in (("drop", pack.nearby.drop), ("liquid", pack.nearby.liquid)):
        checks.append((f"nearby.{path}", words, board.by_reference))
    found = [
        _lacking(word, known, board, place(path, source, lines or {}))
        for path, words, known in checks
        for word in words
        if not fnmatch.filter(known, word)
    ]
    return (*found, *_faults(pack, board, source, lines or {}))


def _of_kind(board: Board, kind: PartKind) -> tuple[str, ...]:
    return tuple(part.reference for part in board.parts if part.kind is kind)


def _lacking(word: str, known: Iterable[str], board: Board, where: Where) -> Finding:
    kind = (where.name or "").rpartition(".")[2].rstrip("s")
    kind = kind if kind in ("connector", "chip", "net", "rail") else "part or net"
    what = f"{board.name} has no {kind} {word}"
    return Finding(what, where, suggestion(word, _like(word, known)))


def _like(word: str, known: Iterable[str]) -> list[str]:
    """Keep names that start with the same letters: a list of all parts helps nobody."""
    letters = word.rstrip("0123456789")
    return [name for name in known if name.startswith(letters)] or list(known)


def _faults(pack: Pack, board: Board, source: str, lines: Mapping[str, int]) -> Iterator[Finding]:
    for name, job in pack.jobs.items():
        for i, key in enumerate(job.faults):
            fault = fault_from_key(key)
            where = place(f"jobs.{name}.faults.{i}", source, lines)
            if fault.kind in _ON_PARTS:
                yield from _fault_places(fault, board, where)
    for word in pack.rates.weak_spots:
        reference = word.rpartition(":")[2].partition(".")[0]
        if reference not in board.by_reference and reference not in pack.modules:
            where = place(f"rates.weak_spots.{word}", source, lines)
            yield _lacking(reference, board.by_reference, board, where)


def _fault_places(fault: Fault, board: Board, where: Where) -> Iterator[Finding]:
    for point in fault.place.replace("~", "/").split("/"):
        if point not in board.by_reference and not board.has_point(point):
            yield _lacking(point, [*board.by_reference, *board.nets], board, where)
