"""Lines that declare: names and kinds before the chains, everything else after them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, InvalidOperation

from nextprobe.board import GROUND, PartKind, Role
from nextprobe.board.naming import unit_of_kind
from nextprobe.errors import Severity
from nextprobe.quantities import parse_value
from nextprobe.readers.chains.draft import Draft, DraftPart
from nextprobe.readers.chains.grammar import Chain, Directive
from nextprobe.readers.chains.lexer import Word
from nextprobe.readers.chains.notes import Notes, closest
from nextprobe.readers.chains.wiring import NetNode

_Statements = Iterable[Directive | Chain]
_KINDS = {kind.value: kind for kind in PartKind}
_ROLES = {role.value: role for role in Role}
_EXAMPLES = {
    "board": "board NAME",
    "part": "part U3 chip",
    "value": "value C87 100n",
    "net": "net VDD_CAM rail",
    "role": "role VDD_CAM rail",
    "supply": "supply U3.AB4 VDD_IO",
    "at": "at C87 12.1 3.4",
    "pins": "pins Q3 1 2 3",
    "implied": "implied U?J4",
}
_FEWEST = {"board": 1, "part": 2, "value": 2, "net": 1, "role": 2, "supply": 2, "at": 3, "pins": 2}


def declare_first(statements: _Statements, draft: Draft, notes: Notes) -> None:
    """Take what chains must know beforehand: the board's name, parts and nets."""
    _declare(statements, draft, notes, {"board": _board, "part": _part, "net": _net})


def declare_last(statements: _Statements, draft: Draft, notes: Notes) -> None:
    """Take what speaks of parts and nets in chains."""
    later = {"value": _value, "role": _role, "supply": _supply, "at": _at, "pins": _pins}
    _declare(statements, draft, notes, later | {"implied": _implied})


def _declare(
    statements: _Statements,
    draft: Draft,
    notes: Notes,
    actions: Mapping[str, Callable[[Directive, Draft, Notes], None]],
) -> None:
    for statement in statements:
        if not isinstance(statement, Directive) or statement.verb not in actions:
            continue
        if len(statement.words) < _FEWEST.get(statement.verb, 1):
            example = _EXAMPLES[statement.verb]
            what = f"{statement.verb} says too little"
            notes.add(what, statement.line, statement.column, f"write {example}")
            continue
        actions[statement.verb](statement, draft, notes)


def _text(words: Iterable[Word]) -> str:
    return " ".join(word.text for word in words)


def _board(directive: Directive, draft: Draft, notes: Notes) -> None:
    del notes
    draft.name = _text(directive.words)


def _part(directive: Directive, draft: Draft, notes: Notes) -> None:
    reference, *words = directive.words
    if not reference.text or "." in reference.text:
        what = "a part needs a name without a dot"
        notes.add(what, directive.line, reference.column, "write part U3 chip")
        return
    long = " ".join(word.text.lower() for word in words[:2])
    used = 2 if long in _KINDS else 1
    kind = _KINDS.get(long) or _KINDS.get(words[0].text.lower())
    if kind is None:
        remedy = closest(words[0].text, _KINDS, f"write one of {', '.join(_KINDS)}")
        notes.add(f"{words[0].text} is no kind of part", directive.line, words[0].column, remedy)
        return
    note = _text(words[used:])
    part = draft.parts.setdefault(reference.text, DraftPart(reference.text, kind))
    unit = unit_of_kind(kind)
    part.kind, part.note, part.declared = kind, note, True
    part.value = parse_value(note, unit).value if unit else None


def _net(directive: Directive, draft: Draft, notes: Notes) -> None:
    name, *words = directive.words
    draft.wiring.cluster(NetNode(name.text))
    if words:
        _set_role(name.text, words, directive, draft, notes)


def _role(directive: Directive, draft: Draft, notes: Notes) -> None:
    name, *words = directive.words
    if not draft.wiring.knows(NetNode(name.text)) and name.text != GROUND:
        remedy = closest(name.text, draft.wiring.net_names(), f"declare it: net {name.text}")
        what = f"no chain has a net {name.text}"
        notes.add(what, directive.line, name.column, remedy, Severity.WARNING)
    _set_role(name.text, words, directive, draft, notes)


def _set_role(
    net: str, words: list[Word], directive: Directive, draft: Draft, notes: Notes
) -> None:
    stated = [word for word in words if word.text.lower() != "role"] or words
    text = _text(stated).lower().replace("-", " ").replace("_", " ")
    if text in _ROLES:
        draft.roles[net] = _ROLES[text]
        return
    remedy = closest(text, _ROLES, f"write one of {', '.join(_ROLES)}")
    notes.add(f"{_text(stated)} is no role", directive.line, stated[0].column, remedy)


def _known_part(word: Word, directive: Directive, draft: Draft, notes: Notes) -> DraftPart | None:
    part = draft.parts.get(word.text)
    if part is None:
        remedy = closest(word.text, draft.parts, "put it into a chain first")
        notes.add(f"no chain has a part {word.text}", directive.line, word.column, remedy)
    return part


def _value(directive: Directive, draft: Draft, notes: Notes) -> None:
    name, *words = directive.words
    part = _known_part(name, directive, draft, notes)
    if part is None:
        return
    text = _text(words)
    if text.lower() == "none":
        part.value = None
        return
    parsed = parse_value(text, unit_of_kind(part.kind))
    if parsed.value is None:
        what = parsed.finding.what if parsed.finding else f"{text} is no value"
        remedy = "write one value with its unit, as in 4k7, 100n or 2.2uH"
        notes.add(what, directive.line, words[0].column, remedy)
        return
    part.value = parsed.value


def _supply(directive: Directive, draft: Draft, notes: Notes) -> None:
    *pins, rail = directive.words
    if not draft.wiring.knows(NetNode(rail.text)):
        remedy = closest(rail.text, draft.wiring.net_names(), f"declare it: net {rail.text}")
        what = f"no chain has a net {rail.text}"
        notes.add(what, directive.line, rail.column, remedy, Severity.WARNING)
    for word in pins:
        part = draft.parts.get(word.reference)
        if part is None or (word.dot is not None and word.pin not in part.pins):
            points = [f"{p.reference}.{pin}" for p in draft.parts.values() for pin in p.pins]
            remedy = closest(word.text, points, "put it into a chain first")
            notes.add(f"no chain has a pin {word.text}", directive.line, word.column, remedy)
        elif word.dot is None:
            draft.supplies[part.reference] = rail.text
        else:
            part.pins[word.pin] = rail.text


def _at(directive: Directive, draft: Draft, notes: Notes) -> None:
    part = _known_part(directive.words[0], directive, draft, notes)
    numbers = []
    for word in directive.words[1:3]:
        try:
            number = Decimal(word.text.replace(",", "."))
        except InvalidOperation:
            number = Decimal("nan")
        if not number.is_finite() or abs(number) > 10_000:
            what = f"{word.text} is no position in mm"
            notes.add(what, directive.line, word.column, "write at C87 12.1 3.4")
            return
        numbers.append(float(number.scaleb(-3)))
    if part is not None:
        part.position = (numbers[0], numbers[1])


def _pins(directive: Directive, draft: Draft, notes: Notes) -> None:
    part = _known_part(directive.words[0], directive, draft, notes)
    if part is None:
        return
    known = []
    for word in directive.words[1:]:
        if word.text in part.pins:
            known.append(word.text)
        else:
            what = f"no chain has a pin {part.reference}.{word.text}"
            remedy = closest(word.text, part.pins, "put it into a chain first")
            notes.add(what, directive.line, word.column, remedy)
    part.order = tuple(dict.fromkeys(known))


def _implied(directive: Directive, draft: Draft, notes: Notes) -> None:
    for word in directive.words:
        part = _known_part(word, directive, draft, notes)
        if part is not None:
            part.implied = True
