"""A KiCad board file (``.kicad_pcb``) as components and edges."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from nextprobe.board import Board, Path
from nextprobe.errors import Finding, Severity
from nextprobe.readers.assemble import assemble
from nextprobe.readers.components import Component
from nextprobe.readers.kicad.expressions import Expressions, Progress, Wanted
from nextprobe.readers.kicad.footprint import DRAWINGS, FOOTPRINT, component_of
from nextprobe.readers.kicad.places import Place, edge_of, edges_of, place_of

NEWEST = 20260301
_WANTED: Wanted = {"version": {}, "footprint": FOOTPRINT, "module": FOOTPRINT, **DRAWINGS}


@dataclass(frozen=True)
class Layout:
    """What a board file holds, as it holds it.

    Parameters
    ----------
    version : int
        Of the file format: a date since version 5.
    components : tuple of Component
        One for each footprint, also for holes, marks and logos.
    edges : tuple of paths
        Of the board and its cut-outs [m].
    findings : tuple of Finding
        What is wrong with the file.
    """

    version: int
    components: tuple[Component, ...]
    edges: tuple[Path, ...]
    findings: tuple[Finding, ...]


def read_layout(text: str, source: str, progress: Progress | None = None) -> Layout | None:
    """Read the text of a board file; None if it is something else."""
    file = Expressions(text, source, progress)
    if file.root() != "kicad_pcb":
        return None
    version, line, at = 0, 1, 0
    components: list[Component] = []
    edges: list[Path] = []
    for form in file.top_forms(_WANTED):
        line, at = line + text.count("\n", at, form.start), form.start
        if form.name == "version":
            version = int(form.number(0))
        elif form.name in ("footprint", "module"):
            components.append(component_of(form, line))
            edges.extend(edges_of(form, "fp", place_of(form)))
        else:
            edges.append(edge_of(form, Place()))
    if version > NEWEST:
        what = f"format {version} is newer than what is known here ({NEWEST})"
        file.complain(what, 0, "compare a few parts with KiCad", Severity.WARNING)
    joined = joined_paths(path for path in edges if path)
    return Layout(version, tuple(components), joined, tuple(file.findings))


def read_kicad_board(
    text: str, source: str = "board.kicad_pcb", progress: Progress | None = None
) -> tuple[Board | None, tuple[Finding, ...]]:
    """Read a KiCad board of versions 4 to 10.

    Parameters
    ----------
    text : str
        Any text; what is wrong with it is returned as findings, and the rest is still read.
    source : str
        What findings call the text, and the board.
    progress : callable, optional
        Told the share of the text that has been read [1].

    Returns
    -------
    (Board or None, tuple of Finding)
        None if no part could be read.
    """
    layout = read_layout(text, source, progress)
    if layout is None:
        found = Expressions(text, source)
        found.complain("this is no KiCad board", 0, "choose a .kicad_pcb file")
        return None, tuple(found.findings)
    board, findings = assemble(layout.components, source, layout.edges)
    return board, (*layout.findings, *findings)


def joined_paths(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Join paths that end where another one starts, as far as that is unambiguous."""
    waiting = list(paths)
    ends: dict[tuple[int, int], list[int]] = {}
    for index, path in enumerate(waiting):
        for point in (path[0], path[-1]):
            ends.setdefault(_rounded(point), []).append(index)
    left = set(range(len(waiting)))
    found = []
    for index in range(len(waiting)):
        if index in left:
            left.discard(index)
            path = _grown(waiting[index], waiting, ends, left)
            found.append(_grown(path[::-1], waiting, ends, left))
    return tuple(found)


def _grown(
    path: Path, waiting: list[Path], ends: dict[tuple[int, int], list[int]], left: set[int]
) -> Path:
    """Return a path with everything that goes on from its end."""
    points = list(path)
    while _rounded(points[0]) != _rounded(points[-1]):
        there = _rounded(points[-1])
        index = next((i for i in ends[there] if i in left), None)
        if index is None:
            break
        left.discard(index)
        more = waiting[index]
        points += more[1:] if _rounded(more[0]) == there else more[-2::-1]
    return tuple(points)


def _rounded(point: tuple[float, float]) -> tuple[int, int]:
    return round(point[0] * 1e6), round(point[1] * 1e6)
