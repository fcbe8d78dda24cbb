"""What was understood of a board, as tables and as plain rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from nextprobe.board import Part, Understanding, natural_order, unit_of_kind
from nextprobe.board.standing import standing_pads
from nextprobe.cli.tables import heading, line, table
from nextprobe.quantities import format_value

Row = Mapping[str, Any]
_NAMED = 12
_PINS = 6

said = line


def summary(found: Understanding) -> dict[str, object]:
    """Return counts, and the names of whatever was not understood."""
    board = found.board
    return {
        "name": board.name,
        "ground": found.ground,
        "parts": len(board.parts),
        "kinds": {kind.value: count for kind, count in found.kinds.most_common()},
        "nets": len(board.nets),
        "roles": {role.value: count for role, count in found.roles.most_common()},
        "without_role": found.without_role,
        "values_unread": found.unread,
        "not_fitted": found.not_fitted,
        "kinds_doubtful": dict(found.doubtful),
        "has_places": found.has_places,
    }


def summary_shown(found: Understanding) -> Iterator[RenderableType]:
    """Show the same for people."""
    board = found.board
    yield heading(f"{board.name}: {len(board.parts)} parts, {len(board.nets)} nets")
    counted = table("parts", "kind", "nets", "role", numbers=(0, 2))
    kinds, roles = found.kinds.most_common(), found.roles.most_common()
    for place in range(max(len(kinds), len(roles))):
        kind = kinds[place] if place < len(kinds) else None
        role = roles[place] if place < len(roles) else None
        counted.add_row(
            str(kind[1]) if kind else "", kind[0].value if kind else "",
            str(role[1]) if role else "", role[0].value if role else "",
        )  # fmt: skip
    yield counted
    yield line(_ground(found))
    yield from _named("without a role", found.without_role)
    yield from _named("values not read", found.unread)
    yield from _named("not fitted", found.not_fitted)
    if found.doubtful:
        doubts = [f"{name} ({why})" for name, why in found.doubtful.items()]
        yield from _named("kinds in doubt", doubts, most=4)
    if not (found.has_places or standing_pads(found.board)):
        yield line("nobody has said where its parts are: no map; --nets lists the nets")


def _ground(found: Understanding) -> str:
    if found.ground is None:
        return "ground: nothing tells which net it is"
    guess = found.guesses.get("GND")
    if found.ground == "GND" or guess is None:
        return "ground: GND"
    return f"ground: {found.ground}, called GND from here on"


def _named(what: str, names: Sequence[str], most: int = _NAMED) -> Iterator[RenderableType]:
    if names:
        more = f" and {len(names) - most} more" if len(names) > most else ""
        yield line(f"{what}: {len(names)}: {', '.join(names[:most])}{more}")


def net_rows(found: Understanding, search: str = "") -> list[dict[str, object]]:
    """Return a row for each net, or for those that `search` is part of."""
    board = found.board
    rows: list[dict[str, object]] = []
    for name in sorted(board.nets, key=natural_order):
        pins, guess = board.nets[name].pins, found.guesses[name]
        if _fits(search, (name, *pins)):
            rows.append(
                {
                    "net": name,
                    "role": guess.role.value,
                    "confidence": guess.confidence,
                    "reason": guess.reason,
                    "pins": pins,
                }
            )
    return rows


def part_rows(found: Understanding, search: str = "") -> list[dict[str, object]]:
    """Return a row for each part, or for those that `search` is part of."""
    rows: list[dict[str, object]] = []
    for part in sorted(found.board.parts, key=lambda part: natural_order(part.reference)):
        if _fits(search, (part.reference, part.note, *(pin.function for pin in part.pins))):
            rows.append(
                {
                    "part": part.reference,
                    "kind": part.kind.value,
                    "value": part.value,
                    "note": part.note,
                    "fitted": part.fitted,
                    "side": part.side.value if part.side else None,
                    "pins": {pin.number: pin.net for pin in part.pins},
                    "shown": _value(part),
                }
            )
    return rows


def _value(part: Part) -> str:
    unit = unit_of_kind(part.kind)
    return "" if unit is None or part.value is None else format_value(part.value, unit)


def _fits(search: str, words: Iterable[str]) -> bool:
    return not search or any(search.casefold() in word.casefold() for word in words)


def nets_shown(rows: Sequence[Row]) -> Iterator[RenderableType]:
    """Show nets."""
    shown = table("net", "role", "sure", "because", "pins", numbers=(2,))
    for row in rows:
        pins = list(row["pins"])
        more = f" +{len(pins) - _PINS}" if len(pins) > _PINS else ""
        shown.add_row(
            Text(row["net"]), row["role"], f"{100 * row['confidence']:.0f} %",
            Text(row["reason"]), Text(" ".join(pins[:_PINS]) + more),
        )  # fmt: skip
    if rows:
        yield shown


def parts_shown(rows: Sequence[Row]) -> Iterator[RenderableType]:
    """Show parts."""
    shown = table("part", "kind", "value", "as written", "side", "nets")
    for row in rows:
        nets = list(dict.fromkeys(row["pins"].values()))
        more = f" +{len(nets) - _PINS}" if len(nets) > _PINS else ""
        kind = row["kind"] if row["fitted"] else f"{row['kind']}, not fitted"
        shown.add_row(
            Text(row["part"]), kind, row["shown"], Text(row["note"]), row["side"] or "",
            Text(" ".join(nets[:_PINS]) + more),
        )  # fmt: skip
    if rows:
        yield shown
