"""Chips as a meter sees them: clamps on signal pins, substrate diodes and leaks on rails."""

from __future__ import annotations

from nextprobe.board import GROUND, Clamp, FaultKind, Part, Pin, Role
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.defaults import (
    CLAMP_SHORT_OHMS,
    CORE_RESISTANCE,
    LEAST_OHMS,
    RAIL_LEAK,
    SHORT_OHMS,
    JunctionModel,
    is_large,
    lower_clamp,
    substrate,
    upper_clamp,
)
from nextprobe.circuit.site import Site, rail_of


def pin_branches(site: Site, chip: Part, pin: Pin) -> list[Branch]:
    """Return the branches of one signal pin: a clamp from ground and one to its rail."""
    name = f"{chip.reference}.{pin.number}"
    node = site.node(chip, pin)
    rail = rail_of(site.board, chip, pin)
    inner = None if rail is None else inner_rail(site, chip, rail)
    found = _lower(site, chip, pin, node)
    upper = _upper_model(pin)
    if inner is not None and upper is not None:
        shared = f"Is:{chip.reference}:{_word(site, pin)}:upper", f"Rs:{chip.reference}"
        found.append(site.junction(f"{name} upper", (node, inner), upper, shared))
    return found + site.leaks(name, node, inner)


def _lower(site: Site, chip: Part, pin: Pin, node: str) -> list[Branch]:
    name = f"{chip.reference}.{pin.number}"
    if site.has(FaultKind.CLAMP_SHORT, name):
        return [Branch(f"{name} lower", GROUND, node, CLAMP_SHORT_OHMS)]
    if site.has(FaultKind.CLAMP_OPEN, name):
        return []
    known = pin.clamps.lower if pin.clamps is not None else None
    model = _published(known) or lower_clamp(site.board.role(pin.net), is_large(chip))
    shared = f"Is:{chip.reference}:{_word(site, pin)}", f"Rs:{chip.reference}"
    return [site.junction(f"{name} lower", (GROUND, node), model, shared, f"Is:{name}")]


def _upper_model(pin: Pin) -> JunctionModel | None:
    if pin.clamps is None:
        return upper_clamp()
    return None if pin.clamps.no_upper else _published(pin.clamps.upper) or upper_clamp()


def _published(clamp: Clamp | None) -> JunctionModel | None:
    if clamp is None:
        return None
    return JunctionModel(clamp.saturation, clamp.emission, clamp.series)


def _word(site: Site, pin: Pin) -> str:
    return site.board.role(pin.net).value.replace(" ", "-")


def rail_pins(site: Site, chip: Part) -> dict[str, list[Pin]]:
    """Return the supply pins of a chip by their net."""
    found: dict[str, list[Pin]] = {}
    for pin in chip.pins:
        if site.board.role(pin.net).is_supply:
            found.setdefault(pin.net, []).append(pin)
    return found


def inner_rail(site: Site, chip: Part, rail: str) -> str:
    """Return the node of a rail inside the chip.

    It is the net itself as long as one of the chip's pins on that net has a sound joint.
    """
    pins = [pin for pin in chip.pins if pin.net == rail]
    nodes = [site.node(chip, pin) for pin in pins]
    return rail if not pins or rail in nodes else f"{chip.reference}:{rail}"


def supply_branches(site: Site, chip: Part) -> list[Branch]:
    """Return the branches of a chip's supply pins.

    All pins of one rail are joined inside the chip, so one open joint among several shows
    nowhere; when the last one opens, what is inside the chip leaves the net together.
    """
    found: list[Branch] = []
    for rail, pins in rail_pins(site, chip).items():
        inner = inner_rail(site, chip, rail)
        found += _load(site, chip, rail, inner)
        for pin in pins:
            found += _supply_pin(site, chip, pin, inner)
    return found


def _load(site: Site, chip: Part, rail: str, inner: str) -> list[Branch]:
    large = is_large(chip)
    name = f"{chip.reference}:{rail}"
    core = site.board.role(rail) is Role.CORE_RAIL
    ohms = CORE_RESISTANCE[large] if core else RAIL_LEAK[large]
    diode = f"Is:{chip.reference}:supply", ""
    return [
        site.junction(f"{name} substrate", (GROUND, inner), substrate(large), diode),
        site.resistor(f"{name} leak", (inner, GROUND), ohms, f"leak:{rail}"),
    ]


def _supply_pin(site: Site, chip: Part, pin: Pin, inner: str) -> list[Branch]:
    name = f"{chip.reference}.{pin.number}"
    found = site.leaks(name, inner)
    if site.has(FaultKind.SHORT, name):
        found.append(Branch(f"{name} short", inner, GROUND, SHORT_OHMS))
    leak = site.magnitude(FaultKind.LEAKY, name)
    if leak is not None:
        found.append(Branch(f"{name} leak", inner, GROUND, leak))
    node = site.node(chip, pin)
    if inner not in (node, pin.net) and not site.has(FaultKind.JOINT_OPEN, name):
        found.append(Branch(f"{name} inside", inner, node, LEAST_OHMS))
    return found
