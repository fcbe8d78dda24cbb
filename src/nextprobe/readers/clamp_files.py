"""Clamp files that a pack names for its chips, laid onto the pins of the board."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from nextprobe.board import Board, Part, PartKind, Pin, PinClamps
from nextprobe.circuit.site import is_signal
from nextprobe.errors import Finding, Severity, Where
from nextprobe.packs import Pack
from nextprobe.packs.advice import place, suggestion
from nextprobe.packs.schema import ChipData
from nextprobe.readers.ibis import Component, IbisFile, clamps_of, read_ibis_file

_NAMED = 5


@dataclass(frozen=True)
class _Named:
    """A chip of the pack, with where the pack speaks of it."""

    reference: str
    data: ChipData
    where: Callable[[str], Where]


def clamp_file_names(pack: Pack) -> tuple[str, ...]:
    """Return the clamp files that a pack names, each once."""
    return tuple(dict.fromkeys(chip.clamps for chip in pack.chips.values()))


def with_published_clamps(
    board: Board | None, pack: Pack, folder: Path, source: str, lines: Mapping[str, int]
) -> tuple[Board | None, tuple[Finding, ...]]:
    """Return the board whose chips know the clamps that their makers publish.

    Parameters
    ----------
    board : Board or None
        Without one the files are of no use, which is a finding.
    pack : Pack
        Its `chips` name a file each, relative to `folder`.
    folder : Path
    source : str
        What findings call the pack.
    lines : mapping of str to int
        Line of each dotted path of the pack.
    """
    if board is None:
        return None, tuple(_of_no_use(pack, place("chips", source, lines)))
    files: dict[str, IbisFile | None] = {}
    findings: list[Finding] = []
    for name in clamp_file_names(pack):
        files[name], found = read_ibis_file(folder / name)
        findings += [replace(item, where=replace(item.where, source=name)) for item in found]
    for reference, data in pack.chips.items():
        named = _Named(reference, data, lambda path: place(path, source, lines))
        file = files.get(data.clamps)
        part = board.by_reference.get(reference)
        if file is None or part is None or part.kind is not PartKind.CHIP:
            continue
        grown, wrong = _with_clamps(board, part, named, file)
        findings += wrong
        board = board.with_parts([grown])
    return board, tuple(findings)


def _of_no_use(pack: Pack, where: Where) -> Iterator[Finding]:
    if clamp_file_names(pack):
        what = "clamp files are of no use without a board that has the chips"
        yield Finding(what, where, "add chains.txt or a board file", Severity.WARNING)


def _with_clamps(
    board: Board, part: Part, named: _Named, file: IbisFile
) -> tuple[Part, list[Finding]]:
    component = file.component(named.data.component)
    if component is None:
        return part, [_which_component(named, file)]
    known = clamps_of(file, component)
    pins = tuple(_known(board, pin, component, known) for pin in part.pins)
    return replace(part, pins=pins), list(_unmatched(board, part, component, named))


def _known(board: Board, pin: Pin, component: Component, known: Mapping[str, PinClamps]) -> Pin:
    theirs = component.named(pin.number) if is_signal(board, pin) else None
    return pin if theirs is None else replace(pin, clamps=known.get(theirs.number))


def _which_component(named: _Named, file: IbisFile) -> Finding:
    names = [each.name for each in file.components]
    where = named.where(f"chips.{named.reference}.component")
    if not names:
        return Finding(f"{named.data.clamps} describes no component", where, "choose another file")
    if not named.data.component:
        what = f"{named.data.clamps} describes {len(names)} components"
        return Finding(what, where, f"add 'component: …', one of: {', '.join(names[:20])}")
    what = f"{named.data.clamps} has no component '{named.data.component}'"
    return Finding(what, where, suggestion(named.data.component, names[:20]))


def _unmatched(board: Board, part: Part, component: Component, named: _Named) -> Iterator[Finding]:
    signals = [pin.number for pin in part.pins if is_signal(board, pin)]
    missing = [number for number in signals if component.named(number) is None]
    if missing:
        more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
        what = f"{component.name} in {named.data.clamps} has no pin "
        what += ", ".join(missing[:_NAMED]) + more
        where = named.where(f"chips.{named.reference}")
        remedy = "their clamps stay at the usual values: check that it is the same package"
        yield Finding(what, where, remedy, Severity.WARNING)
