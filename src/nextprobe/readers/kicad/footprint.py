"""A footprint of a KiCad board as a component; versions 4 to 10.

``module`` became ``footprint`` in version 6, ``fp_text reference`` became ``property`` in
version 8; names of pins are there since version 6, the mark of parts that are not fitted since
version 8 (KiCad's history of file format versions: 20230410).
"""

from __future__ import annotations

from nextprobe.board import Pad, Side
from nextprobe.readers.components import Component, Terminal
from nextprobe.readers.kicad.expressions import Wanted
from nextprobe.readers.kicad.forms import Form
from nextprobe.readers.kicad.places import Place, outline_of, pad_of, place_of
from nextprobe.readers.kicad.words import shown

_SHAPE: Wanted = {
    "start": {}, "mid": {}, "end": {}, "center": {}, "angle": {}, "layer": {}, "pts": {"xy": {}},
}  # fmt: skip
GRAPHICS = ("line", "rect", "circle", "arc", "poly", "curve")
PAD: Wanted = {"at": {}, "size": {}, "layers": {}, "net": {}, "pinfunction": {}, "pintype": {}}
FOOTPRINT: Wanted = {
    "layer": {}, "at": {}, "attr": {}, "property": {}, "fp_text": {}, "pad": PAD,
    **{f"fp_{shape}": _SHAPE for shape in GRAPHICS},
}  # fmt: skip
DRAWINGS: Wanted = {f"gr_{shape}": _SHAPE for shape in GRAPHICS}


def component_of(form: Form, line: int) -> Component:
    """Return what a ``(footprint …)`` or ``(module …)`` says."""
    place = place_of(form)
    fields = _fields(form)
    terminals = tuple(_terminal(pad, place) for pad in form.all("pad"))
    pads = [terminal.pad for terminal in terminals if terminal.pad is not None]
    return Component(
        reference=fields.pop("Reference", "").strip(),
        value=fields.pop("Value", "").strip(),
        footprint=form.atom(0),
        terminals=terminals,
        fields=fields,
        fitted=not _left_out(form),
        position=place.position,
        side=Side.BACK if form.text("layer") == "B.Cu" else Side.FRONT,
        rotation=place.rotation,
        outline=outline_of(form, place, pads),
        line=line,
    )


def _fields(form: Form) -> dict[str, str]:
    """Return reference, value and whatever else was written beside a footprint."""
    found = {text.atom(0).capitalize(): text.atom(1) for text in form.all("fp_text")}
    return found | {item.atom(0): item.atom(1) for item in form.all("property")}


def _left_out(form: Form) -> bool:
    attributes = form.first("attr")
    return attributes is not None and attributes.flag("dnp")


def _terminal(form: Form, place: Place) -> Terminal:
    kind = form.text("pintype")
    return Terminal(
        number=form.atom(0),
        net=shown(form.text("net")),
        function=shown(form.text("pinfunction")),
        pad=_copper(form, place),
        unused="no_connect" in kind,
    )


def _copper(form: Form, place: Place) -> Pad | None:
    return None if form.atom(1) == "np_thru_hole" else pad_of(form, place)
