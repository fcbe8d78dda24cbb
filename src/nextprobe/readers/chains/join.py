"""Follows chains from point to point and joins what they name."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from nextprobe.board import GROUND, PartKind
from nextprobe.board.naming import class_letters, kind_from_designator, unit_of_kind
from nextprobe.errors import Severity
from nextprobe.quantities import parse_value
from nextprobe.readers.chains.draft import Draft, DraftPart
from nextprobe.readers.chains.grammar import VERBS, Chain, Directive, Item
from nextprobe.readers.chains.lexer import Word
from nextprobe.readers.chains.notes import Notes, closest
from nextprobe.readers.chains.wiring import NameConflictError, NetNode, Node, PinNode

_MANY_PINS = (PartKind.CHIP, PartKind.CONNECTOR, PartKind.TRANSISTOR)


class Link(NamedTuple):
    """What a chain enters and leaves: one node for a point, two pins for a part."""

    enter: Node
    leave: Node
    column: int

    @property
    def is_part(self) -> bool:
        """Whether the link leads through a part."""
        return self.enter is not self.leave


class _MistakeError(Exception):
    """A mistake that ends a chain; the finding has been added."""


class ChainReader:
    """Reads chains into a draft, line by line."""

    def __init__(self, draft: Draft, notes: Notes, statements: Iterable[Directive | Chain]) -> None:
        self.draft = draft
        self.notes = notes
        self.line = 0
        self.first_seen: dict[str, tuple[int, int]] = {}
        self.declared_nets = {
            statement.words[0].text
            for statement in statements
            if isinstance(statement, Directive) and statement.verb == "net" and statement.words
        }

    def read(self, chain: Chain) -> None:
        """Join the points of one chain; what stands before a mistake is kept."""
        self.line = chain.line
        try:
            links = self._path(chain.path, None)
            for hanging in chain.hanging:
                self._hang(hanging, links[-1])
        except _MistakeError:
            return
        self.draft.paths.append([node for link in links for node in (link.enter, link.leave)])

    def look_back(self) -> None:
        """Point out names that are likely slips of the pen."""
        names = self.draft.wiring.net_names()
        for name, (line, column) in self.first_seen.items():
            cluster = self.draft.wiring.cluster(NetNode(name))
            if len(cluster.pins) > 1 or name in self.declared_nets:
                continue
            advice = closest(name, (n for n in names if _differs_by_a_slip(n, name)), "")
            if advice:
                what = f"net {name} has one pin only"
                self.notes.add(what, line, column, advice, Severity.WARNING)

    def _path(self, items: tuple[Item, ...], start: Link | None) -> list[Link]:
        links = [] if start is None else [start]
        for place, item in enumerate(items):
            following = items[place + 1] if place + 1 < len(items) else None
            link = self._link(item, links[-1] if links else None, following)
            if links:
                self._join(links[-1].leave, link.enter, link.column)
            links.append(link)
        return links

    def _hang(self, items: tuple[Item, ...], anchor: Link) -> None:
        links = self._path(items, anchor)
        if not links[1].is_part and not self._is_test_point(links[1].enter):
            what = f"{items[0].name.text} is a point, and only parts hang"
            self._mistake(what, items[0].name, "write > in place of |")
        if links[-1].is_part:
            self._join(links[-1].leave, NetNode(GROUND), links[-1].column)

    def _is_test_point(self, node: Node) -> bool:
        return isinstance(node, PinNode) and (
            self.draft.parts[node.reference].kind is PartKind.TEST_POINT
        )

    def _mistake(self, what: str, word: Word, remedy: str) -> None:
        self.notes.add(what, self.line, word.column, remedy)
        raise _MistakeError

    def _join(self, first: Node, second: Node, column: int) -> None:
        try:
            self.draft.wiring.join(first, second)
        except NameConflictError as conflict:
            what = f"this would join {conflict.first} and {conflict.second}"
            remedy = "correct one of the names, or put the part between them into the chain"
            self.notes.add(what, self.line, column, remedy)
            raise _MistakeError from None

    def _link(self, item: Item, before: Link | None, after: Item | None) -> Link:
        reference = self._reference(item.name)
        if reference is None:
            return self._net(item)
        if item.name.dot is not None:
            return self._pin(item, reference)
        return self._two_pins(item, reference, before, after)

    def _reference(self, word: Word) -> str | None:
        """Return the part that a word names, whether it has pins or not; None for a net."""
        name = word.reference
        if name in self.draft.parts and (word.dot is not None or not word.quoted):
            return name
        if word.dot is None and (word.quoted or word.text in self.declared_nets):
            return None
        if word.dot is None and self.draft.wiring.knows(NetNode(word.text)):
            return None
        if class_letters(name) or (word.quoted and word.dot is not None):
            return name
        if class_letters(name.upper()) and not word.quoted:
            return name.upper()
        shaped = name[:1].isalpha() and name[-1:].isdigit() and name.isalnum()
        return name if word.dot is not None and shaped else None

    def _net(self, item: Item) -> Link:
        word = item.name
        if item.words:
            remedy = closest(word.text, (*self.draft.parts, *VERBS), "put a > between the two")
            self._mistake(f"{word.text} is no part that words could describe", word, remedy)
        name = GROUND if word.text.upper() == GROUND and not word.quoted else word.text
        if name != GROUND:
            self.first_seen.setdefault(name, (self.line, word.column))
        node = NetNode(name)
        self.draft.wiring.cluster(node)
        return Link(node, node, word.column)

    def _pin(self, item: Item, reference: str) -> Link:
        word = item.name
        if not reference or "." in reference:
            self._mistake("a part needs a name without a dot", word, "write U3.AB4, or quote a net")
        if not word.pin:
            self._mistake(f"the pin of {reference} is missing", word, f"write {reference}.1")
        if item.words:
            remedy = f"put a > between the two, or describe the part: part {reference} …"
            self._mistake(f"{item.words[0].text} can not describe a pin", item.words[0], remedy)
        part = self._part(reference, word)
        lowered = reference != word.reference
        number = word.pin.upper() if lowered and word.pin not in part.pins else word.pin
        node = self.draft.pin(reference, number)
        return Link(node, node, word.column)

    def _part(self, reference: str, word: Word, note: str = "") -> DraftPart:
        part = self.draft.parts.get(reference)
        if part is not None:
            return part
        kind = kind_from_designator(reference, note)
        if kind is None:
            what = f"{reference} could be any kind of part"
            remedy = closest(
                word.text,
                (f"{p.reference}.{pin}" for p in self.draft.parts.values() for pin in p.pins),
                f'declare it: part {reference} chip; or quote it if it is a net: "{word.text}"',
            )
            self.notes.add(what, self.line, word.column, remedy, Severity.WARNING)
        self.draft.parts[reference] = DraftPart(reference, kind or PartKind.OTHER)
        return self.draft.parts[reference]

    def _two_pins(
        self, item: Item, reference: str, before: Link | None, after: Item | None
    ) -> Link:
        word = item.name
        note = " ".join(described.text for described in item.words)
        known = reference in self.draft.parts
        kind = kind_from_designator(reference, note)
        if known:
            kind = self.draft.parts[reference].kind
        if kind in _MANY_PINS or (known and len(self.draft.parts[reference].pins) > 2):
            self._which_pin(word, reference)
        part = self._part(reference, word, note)
        if item.words:
            self._describe(part, note, item.words[0])
        if part.kind is PartKind.TEST_POINT:
            node = self.draft.pin(reference, next(iter(part.pins), "1"))
            return Link(node, node, word.column)
        if not known:
            self._ask(part, word)
        placed = len(part.pins) == 2
        first, second = (self.draft.pin(reference, number) for number in _pair(part))
        if not placed:
            return Link(first, second, word.column)
        return self._again(first, second, word, before, after)

    def _which_pin(self, word: Word, reference: str) -> None:
        pins = self.draft.parts[reference].pins if reference in self.draft.parts else {}
        known = f", as in {reference}.{next(iter(pins))}" if pins else f", as in {reference}.1"
        self._mistake(f"{reference} has many pins", word, f"write the pin{known}")

    def _describe(self, part: DraftPart, note: str, word: Word) -> None:
        if part.note and part.note != note:
            what = f"{part.reference} was {part.note!r} before and is {note!r} from here"
            self.notes.add(what, self.line, word.column, "delete one", Severity.WARNING)
        if not part.declared:
            part.kind = kind_from_designator(part.reference, note) or part.kind
        part.note = note
        unit = unit_of_kind(part.kind)
        if unit is None:
            return
        parsed = parse_value(note, unit)
        part.value = parsed.value
        if parsed.finding is not None:
            finding = parsed.finding
            matters = part.kind is not PartKind.FERRITE
            severity = finding.severity if matters else Severity.NOTE
            self.notes.add(finding.what, self.line, word.column, finding.remedy, severity)
        part.left_out = parsed.not_fitted
        if parsed.not_fitted:
            what = f"{part.reference} is not fitted and left out"
            self.notes.add(what, self.line, word.column, "delete the line", Severity.NOTE)

    def _ask(self, part: DraftPart, word: Word) -> None:
        """Ask about parts that a chain leaves open."""
        if part.kind is PartKind.DIODE:
            what = f"pin 1 of {part.reference} is taken for its cathode"
            remedy = f"write {part.reference}.A and {part.reference}.K for certainty"
            self.notes.add(what, self.line, word.column, remedy, Severity.NOTE)
        elif part.kind is PartKind.OTHER and not part.note:
            what = f"{part.reference} is taken for a part of two pins"
            remedy = f"declare it: part {part.reference} …, or net {part.reference}"
            self.notes.add(what, self.line, word.column, remedy, Severity.NOTE)

    def _again(
        self, first: Node, second: Node, word: Word, before: Link | None, after: Item | None
    ) -> Link:
        """Find the direction in which a part that has its place is passed once more."""
        follower = self._peek(after)
        for enter, leave in ((first, second), (second, first)):
            if self._fits(before and before.leave, enter) and self._fits(follower, leave):
                return Link(enter, leave, word.column)
        what = f"{word.text} stands between other points already"
        self._mistake(what, word, f"write {word.text}.1 or {word.text}.2 to go on from its pins")
        raise _MistakeError

    def _fits(self, node: Node | None, pin: Node) -> bool:
        wiring = self.draft.wiring
        return node is None or wiring.is_free(pin) or wiring.connected(node, pin)

    def _peek(self, item: Item | None) -> Node | None:
        """Return the point that an item names, if it is known."""
        if item is None:
            return None
        reference = self._reference(item.name)
        if reference is None:
            return NetNode(item.name.text)
        return PinNode(reference, item.name.pin) if item.name.dot is not None else None


def _pair(part: DraftPart) -> list[str]:
    """Return the two pins of a part, making up those that have not been named."""
    missing = [number for number in ("1", "2") if number not in part.pins]
    return sorted([*part.numbers(), *missing][:2]) if len(part.pins) < 2 else part.numbers()


def _differs_by_a_slip(first: str, second: str) -> bool:
    """Whether two names differ by one letter that is neither a number nor a side of a pair."""
    if len(first) != len(second) or len(first) < 5:
        return len(first) != len(second) and first.lower() == second.lower()
    pairs = [(a, b) for a, b in zip(first, second, strict=True) if a != b]
    if all(a.lower() == b.lower() for a, b in pairs):
        return bool(pairs)
    (a, b) = pairs[0]
    return len(pairs) == 1 and (a + b).isalpha() and {a, b} not in ({"P", "N"}, {"T", "R"})
