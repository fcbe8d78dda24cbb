"""What is sent of a board."""

from __future__ import annotations

from typing import Any

from nextprobe.board import Board, PartKind, Role, Side, unit_of_kind
from nextprobe.packs import Pack
from nextprobe.quantities import format_value
from nextprobe.web.board_layout import columns, layout_of
from nextprobe.web.plainly import sent
from nextprobe.web.shapes import many, maybe, shape

_PATH = many(tuple[float, float])

PartShown = shape(
    "Part",
    "A component.",
    reference=str,
    kind=PartKind,
    value=(maybe(float), "main value [ohm, farad or henry]"),
    shown=(str, "the value as people write it"),
    note=str,
    side=maybe(Side),
    position=(maybe(tuple[float, float]), "centre [m]"),
    rotation=(float, "[°]"),
    outline=(_PATH, "corners of its body [m]"),
    fitted=bool,
    implied=(bool, "a stand-in: something must be there"),
)
NetShown = shape("Net", "Pins that are joined.", name=str, role=Role, pins=many(str))
PadsShown = shape(
    "Pads",
    "Columns of equal length, a row for each pad; suspicion comes in the same order.",
    pin=(many(str), "name of the pin, as in J4.12"),
    part=(many(int), "its place in the list of parts"),
    net=(many(int), "its place in the list of nets"),
    x=(many(maybe(float)), "centre [m], to the right"),
    y=(many(maybe(float)), "centre [m], downwards"),
    width=(many(maybe(float)), "before it is turned [m]"),
    height=(many(maybe(float)), "before it is turned [m]"),
    rotation=(many(maybe(float)), "counter-clockwise [°]"),
    side=(many(maybe(Side)), "from where it can be touched"),
    is_round=many(bool),
)
ConnectorShown = shape(
    "Connector",
    "A connector with its pins in order.",
    reference=str,
    pins=(many(str), "numbers of its pins"),
    modules=(many(str), "modules that plug into it"),
)
BoardShown = shape(
    "Board",
    "A board as it is known: seen from its front, x to the right, y downwards, in metres.",
    name=str,
    key=(int, "the same for the same order of pads; binary messages carry it"),
    has_places=(bool, "whether anybody has said where the pads are, or at least the parts"),
    pads_drawn=(
        bool,
        "whether pads are laid out by kind of part: only the parts' places are known",
    ),
    outline=(many(_PATH), "edges of the board and its cut-outs [m]"),
    parts=many(PartShown),
    nets=many(NetShown),
    pads=PadsShown,
    connectors=many(ConnectorShown),
)


def board_json(board: Board, pack: Pack) -> dict[str, Any]:
    """Return a board as it is sent."""
    layout = layout_of(board)
    found: dict[str, Any] = sent(
        {
            "name": board.name,
            "key": layout.key,
            "has_places": any(pad is not None for *_, pad in layout.pads),
            "pads_drawn": bool(layout.drawn),
            "outline": board.outline,
            "parts": [_part(board, index) for index in range(len(board.parts))],
            "nets": [
                {"name": net.name, "role": board.role(net.name), "pins": net.pins}
                for net in board.nets.values()
            ],
            "connectors": [
                {
                    "reference": reference,
                    "pins": pins,
                    "modules": [
                        name
                        for name, module in pack.modules.items()
                        if module.connector == reference
                    ],
                }
                for reference, pins in layout.connectors()
            ],
        }
    )
    # Columns are plain already; to go through them once more takes longest.
    return {**found, "pads": columns(layout)}


def _part(board: Board, index: int) -> dict[str, Any]:
    part = board.parts[index]
    unit = unit_of_kind(part.kind)
    known = unit is not None and part.value is not None
    return {
        "reference": part.reference,
        "kind": part.kind,
        "value": part.value,
        "shown": format_value(part.value, unit) if known and unit and part.value else "",
        "note": part.note,
        "side": part.side,
        "position": part.position,
        "rotation": part.rotation,
        "outline": part.outline,
        "fitted": part.fitted,
        "implied": part.implied,
    }
