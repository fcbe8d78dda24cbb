"""Components as EDA files describe them, before they are parts of a board.

Readers of different formats fill these in; `nextprobe.readers.assemble` makes the board.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from nextprobe.board import Pad, Path, Point, Side


@dataclass(frozen=True)
class Terminal:
    """One pad or symbol pin as a file has it.

    Parameters
    ----------
    number : str
        Its name within the component; several pads may share one.
    net : str
        Empty where nothing is joined to it.
    function : str
        What the maker of the component calls it.
    pad : Pad or None
        Its copper.
    unused : bool
        Whether the file says that nothing is meant to be joined to it.
    """

    number: str
    net: str = ""
    function: str = ""
    pad: Pad | None = None
    unused: bool = False


@dataclass(frozen=True)
class Component:
    """One component as a file has it.

    Parameters
    ----------
    reference, value : str
        As written; the reference may be empty or occur twice.
    footprint, symbol : str
        Names in their libraries, as in ``Resistor_SMD:R_0402`` and ``Device:R``.
    terminals : tuple of Terminal
        In the order of the file.
    fields : mapping of str to str
        What else was written beside it.
    fitted : bool
        False where the file has an attribute that says so.
    line : int or None
        Where it starts.
    """

    reference: str
    value: str
    footprint: str = ""
    symbol: str = ""
    terminals: tuple[Terminal, ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)
    fitted: bool = True
    position: Point | None = None
    side: Side | None = None
    rotation: float = 0.0
    outline: Path = ()
    line: int | None = None
