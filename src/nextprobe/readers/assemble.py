"""From components, as files describe them, to a board."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from nextprobe.board import Board, Classified, Pad, Part, PartKind, Path, Pin, Role, classify
from nextprobe.board.naming import automatic_net_name, natural_order
from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.components import Component, Terminal

_LEFT_OUT = frozenset({"dnp", "dni", "dnf", "do not populate", "do not place", "not fitted"})
_PUT_IN = frozenset({"fitted", "populate", "populated", "mounted", "place"})
_NO = frozenset({"no", "n", "false", "0"})
_SHOWN = 6


@dataclass
class _Assembly:
    source: str
    findings: list[Finding] = field(default_factory=list)
    taken: set[str] = field(default_factory=set)
    roles: dict[str, Role] = field(default_factory=dict)
    unread: dict[str, tuple[Finding, list[str]]] = field(default_factory=dict)
    unknown: list[str] = field(default_factory=list)
    renamed: dict[str, list[tuple[str, int | None]]] = field(default_factory=dict)
    pinless: int = 0

    def add(
        self, what: str, remedy: str, severity: Severity, line: int | None = None, name: str = ""
    ) -> None:
        where = Where(self.source, line, name=name or None)
        self.findings.append(Finding(what, where, remedy, severity))


def assemble(
    components: Iterable[Component], source: str, outline: tuple[Path, ...] = ()
) -> tuple[Board | None, tuple[Finding, ...]]:
    """Make a board of components.

    Parts get a kind and a value each, pads of one number become one pin, and names that are
    missing or occur twice are made up. Components without a pin (holes, marks, logos) are no
    parts.

    Parameters
    ----------
    components : iterable of Component
    source : str
        File name: what findings call the data, and, without its ending, the board.
    outline : tuple of paths
        Edges of the board [m].

    Returns
    -------
    (Board or None, tuple of Finding)
        None if there is no part at all.
    """
    work = _Assembly(source)
    kept = [component for component in components if _has_pins(component, work)]
    if not kept:
        work.add("there is no part with a pin", "choose the file of a board", Severity.ERROR)
        return None, tuple(work.findings)
    named = list(_with_names(kept, work))
    joined = any(terminal.net for component in named for terminal in component.terminals)
    if not joined:
        what = "nothing is joined: no pad belongs to a net"
        work.add(what, "choose the file of a board that was drawn from a schematic", Severity.ERROR)
    parts = tuple(_part(component, work, joined) for component in named)
    _summarise(work)
    name = source.rpartition("/")[2].rpartition(".")[0] or source
    return Board(name, parts, work.roles, outline), tuple(work.findings)


def _has_pins(component: Component, work: _Assembly) -> bool:
    found = any(terminal.number for terminal in component.terminals)
    work.pinless += not found
    return found


def _with_names(components: Sequence[Component], work: _Assembly) -> Iterator[Component]:
    """Give every component a reference of its own, without a dot."""
    written = {component.reference for component in components}
    for component in components:
        wanted = component.reference.replace(".", "_") or "X?"
        name, count = wanted, 1
        while name in work.taken or (name != component.reference and name in written):
            count += 1
            name = f"{wanted}_{count}"
        work.taken.add(name)
        if name != component.reference:
            work.renamed.setdefault(component.reference, []).append((name, component.line))
        yield replace(component, reference=name)


def _say_renamed(old: str, names: list[tuple[str, int | None]], work: _Assembly) -> None:
    shown = _listed([name for name, _ in names])
    if not old:
        what = f"{_counted(len(names), 'part has', 'parts have')} no reference"
    elif "." in old:
        what = f"{old} has a dot, which parts a pin from its part"
    else:
        what = f"{_counted(len(names), 'more part is', 'more parts are')} called {old}"
    remedy = "give each part a reference of its own in the file"
    work.add(f"{what}; made up: {shown}", remedy, Severity.WARNING, names[0][1], names[0][0])


def _counted(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"


def _part(component: Component, work: _Assembly, joined: bool) -> Part:
    terminals = _by_number(component, work)
    called = [each[0].function or number for number, each in terminals.items()]
    found = classify(
        component.reference, component.value, called, component.footprint, component.symbol
    )
    _note(component, found, work)
    pins = tuple(
        _pin(component.reference, number, terminals[number], work, joined) for number in terminals
    )
    return Part(
        component.reference,
        found.guess.kind,
        pins,
        found.value,
        component.value,
        component.position,
        fitted=_is_fitted(component, found),
        side=component.side,
        rotation=component.rotation,
        outline=component.outline,
    )


def _by_number(component: Component, work: _Assembly) -> dict[str, list[Terminal]]:
    """Return the pads of each pin; pads of one number on two nets become two pins."""
    found: dict[str, list[Terminal]] = {}
    for terminal in component.terminals:
        if not terminal.number:
            continue
        number, count = terminal.number, 1
        while number in found and _differ(found[number], terminal):
            count += 1
            number = f"{terminal.number}_{count}"
        if number != terminal.number and number not in found:
            what = f"pin {component.reference}.{terminal.number} is on two nets; one is {number}"
            remedy = "look which pad is meant before you measure"
            work.add(what, remedy, Severity.WARNING, component.line, component.reference)
        found.setdefault(number, []).append(terminal)
    return {number: found[number] for number in sorted(found, key=natural_order)}


def _differ(others: list[Terminal], terminal: Terminal) -> bool:
    nets = {other.net for other in others if other.net}
    return bool(terminal.net and nets) and terminal.net not in nets


def _pin(
    reference: str, number: str, terminals: list[Terminal], work: _Assembly, joined: bool
) -> Pin:
    net = next((terminal.net for terminal in terminals if terminal.net), "")
    if not net:
        net = automatic_net_name(reference, number)
        if joined:
            work.roles[net] = Role.NOT_CONNECTED
    elif all(terminal.unused for terminal in terminals):
        work.roles.setdefault(net, Role.NOT_CONNECTED)
    pads = [terminal.pad for terminal in terminals if terminal.pad is not None]
    function = next((terminal.function for terminal in terminals if terminal.function), "")
    return Pin(number, net, None, function, tuple(sorted(pads, key=_area, reverse=True)))


def _area(pad: Pad) -> float:
    return pad.size[0] * pad.size[1]


def _is_fitted(component: Component, found: Classified) -> bool:
    if found.not_fitted or not component.fitted:
        return False
    return not any(_says_left_out(name, text) for name, text in component.fields.items())


def _says_left_out(name: str, text: str) -> bool:
    word, said = name.strip().lower(), text.strip().lower()
    if word in _LEFT_OUT:
        return bool(said) and said not in _NO
    return word in _PUT_IN and said in _NO


def _note(component: Component, found: Classified, work: _Assembly) -> None:
    """Remember what could not be told, to say it once for all parts."""
    if found.finding is not None and component.value:
        severity = found.finding.severity
        if found.guess.kind is PartKind.FERRITE:
            severity = Severity.NOTE
        first = replace(found.finding, severity=severity)
        work.unread.setdefault(component.value, (first, []))[1].append(component.reference)
    if found.guess.confidence < 0.5:
        work.unknown.append(component.reference)


def _summarise(work: _Assembly) -> None:
    for finding, references in work.unread.values():
        where = Where(work.source, name=_listed(references))
        work.findings.append(replace(finding, where=where))
    for old, names in work.renamed.items():
        _say_renamed(old, names, work)
    if work.unknown:
        what = f"nothing tells the kind of {_counted(len(work.unknown), 'part', 'parts')}"
        remedy = "say what they are in chains.txt, as in: part X1 crystal"
        work.add(what, remedy, Severity.WARNING, name=_listed(work.unknown))
    if work.pinless:
        counted = _counted(work.pinless, "footprint has", "footprints have")
        what = f"{counted} no pin (a hole, mark or logo) and no place among the parts"
        work.add(what, "nothing needs to be done", Severity.NOTE)


def _listed(references: list[str]) -> str:
    shown = ", ".join(references[:_SHOWN])
    more = len(references) - _SHOWN
    return f"{shown} and {more} more" if more > 0 else shown
