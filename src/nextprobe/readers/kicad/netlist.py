"""A KiCad netlist (``.net``) as components: what is joined, without places."""

from __future__ import annotations

from collections.abc import Mapping

from nextprobe.board import Board
from nextprobe.errors import Finding
from nextprobe.readers.assemble import assemble
from nextprobe.readers.components import Component, Terminal
from nextprobe.readers.kicad.expressions import Expressions, Progress, Wanted
from nextprobe.readers.kicad.forms import Form
from nextprobe.readers.kicad.words import shown

_WANTED: Wanted = {
    "components": {
        "comp": {
            "ref": {}, "value": {}, "footprint": {}, "libsource": {"lib": {}, "part": {}},
            "fields": {"field": {"name": {}}}, "property": {"name": {}, "value": {}},
        }
    },
    "libparts": {
        "libpart": {"lib": {}, "part": {}, "pins": {"pin": {"num": {}, "name": {}, "type": {}}}}
    },
    "nets": {
        "net": {
            "name": {},
            "node": {"ref": {}, "pin": {}, "pinfunction": {}, "pintype": {}},
        }
    },
}  # fmt: skip
_NAMELESS = ("", "~")


def read_kicad_netlist(
    text: str, source: str = "board.net", progress: Progress | None = None
) -> tuple[Board | None, tuple[Finding, ...]]:
    """Read a netlist that KiCad's schematic editor has written.

    Parameters and returned values are those of `nextprobe.readers.kicad.read_kicad_board`.
    """
    file = Expressions(text, source, progress)
    if file.root() != "export":
        file.complain("this is no KiCad netlist", 0, "choose a .net file exported by KiCad")
        return None, tuple(file.findings)
    forms = {form.name: form for form in file.top_forms(_WANTED)}
    nodes = _nodes(forms.get("nets"))
    names = _pin_names(forms.get("libparts"))
    parts = forms.get("components")
    components = [_component(form, nodes, names, file) for form in (parts.forms if parts else ())]
    known = {component.reference for component in components}
    for reference in nodes:
        if reference not in known:
            what = f"nets speak of {reference}, which is not among the components"
            file.complain(what, 0, "export the netlist again", name=reference)
            components.append(Component(reference, "", terminals=tuple(nodes[reference])))
    board, findings = assemble(components, source)
    return board, (*file.findings, *findings)


def _nodes(nets: Form | None) -> dict[str, list[Terminal]]:
    """Return the joined pins of each component."""
    found: dict[str, list[Terminal]] = {}
    for net in nets.all("net") if nets else ():
        for node in net.all("node"):
            terminal = Terminal(
                node.text("pin"),
                shown(net.text("name")),
                shown(node.text("pinfunction")),
                unused="no_connect" in node.text("pintype"),
            )
            found.setdefault(node.text("ref"), []).append(terminal)
    return found


def _pin_names(libparts: Form | None) -> dict[tuple[str, str], dict[str, str]]:
    """Return the names of the pins of each symbol, by library and name."""
    found: dict[tuple[str, str], dict[str, str]] = {}
    for part in libparts.all("libpart") if libparts else ():
        pins = part.first("pins")
        names = {pin.text("num"): shown(pin.text("name")) for pin in (pins.forms if pins else ())}
        found[part.text("lib"), part.text("part")] = names
    return found


def _component(
    form: Form,
    nodes: Mapping[str, list[Terminal]],
    names: Mapping[tuple[str, str], Mapping[str, str]],
    file: Expressions,
) -> Component:
    source = form.first("libsource")
    lib, part = (source.text("lib"), source.text("part")) if source is not None else ("", "")
    pins = names.get((lib, part), {})
    joined = nodes.get(form.text("ref"), [])
    terminals = [_named(terminal, pins.get(terminal.number, "")) for terminal in joined]
    there = {terminal.number for terminal in joined}
    terminals += [
        _named(Terminal(number), name) for number, name in pins.items() if number not in there
    ]
    properties = {item.text("name"): item.text("value", "yes") for item in form.all("property")}
    return Component(
        form.text("ref"),
        form.text("value") if form.text("value") != "~" else "",
        form.text("footprint"),
        f"{lib}:{part}",
        tuple(terminals),
        {**_fields(form), **properties},
        "dnp" not in properties,
        line=file.line(form.start),
    )


def _fields(form: Form) -> dict[str, str]:
    fields = form.first("fields")
    return {item.text("name"): item.atom(0) for item in (fields.forms if fields else ())}


def _named(terminal: Terminal, name: str) -> Terminal:
    function = terminal.function or name
    return Terminal(
        terminal.number,
        terminal.net,
        "" if function in _NAMELESS else function,
        terminal.pad,
        terminal.unused,
    )
