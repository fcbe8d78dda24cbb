"""Turn a template for a class of function into the defaults of one named function."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from nextprobe.packs.provenance import Layer
from nextprobe.packs.schema import FunctionClass
from nextprobe.packs.templates import SHOP, filled, template_data

_FOR_INSTANCES = ("module", "connector_look", "sealed")
_SHOP_ORIGIN = "shop defaults"
_OWN_MODULE = "{function}"


def shop_layers(sealed: bool) -> Iterator[Layer]:
    """Yield the defaults that hold whatever the device does."""
    shop = template_data(SHOP)
    yield Layer({k: v for k, v in shop.items() if k not in _FOR_INSTANCES}, _SHOP_ORIGIN)
    if sealed:
        yield Layer(shop["sealed"], f"{_SHOP_ORIGIN}, sealed device")


def function_layers(name: str, kind: FunctionClass, raw: Mapping[str, Any]) -> Iterator[Layer]:
    """Yield the defaults of the function `name`.

    Parameters
    ----------
    name : str
        What the pack calls the function.
    kind : FunctionClass
        Which template serves it.
    raw : mapping
        The pack as somebody wrote it: its modules and connectors name the placeholders.
    """
    template = template_data(kind.value)
    needs = _mapping(_mapping(raw.get("functions")).get(name)).get("needs")
    named = _strings(_mapping(needs).get("modules"))
    module = named[0] if named else filled(template.get("module", _OWN_MODULE), {"function": name})
    connector = connector_of(module, raw) or next(
        iter(_strings(_mapping(needs).get("connectors"))), None
    )
    yield from (module_layer(other) for other in named)
    yield _connector_look(module, connector)
    words = {"function": name, "module": module}
    data = filled({k: v for k, v in template.items() if k not in ("function", "module")}, words)
    function = filled(template["function"], words) | {"class": kind.value}
    yield Layer(data | {"functions": {name: function}}, f"template {kind.value}")


def module_layer(name: str) -> Layer:
    """Return the defaults of a module that no template describes."""
    return Layer(
        {"modules": {name: filled(template_data(SHOP)["module"], {"module": name})}}, _SHOP_ORIGIN
    )


def connector_of(module: str, raw: Mapping[str, Any]) -> str | None:
    """Return the connector that the pack gives for `module`, if it gives one."""
    connector = _mapping(_mapping(raw.get("modules")).get(module)).get("connector")
    return connector if isinstance(connector, str) else None


def _connector_look(module: str, connector: str | None) -> Layer:
    socket = connector or f"the {module} connector"
    words = {"socket": socket, "connector": connector or ""}
    look = filled(template_data(SHOP)["connector_look"], words)
    look["connector"] = connector
    return Layer({"looks": {f"look at {socket}": look}}, _SHOP_ORIGIN)


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _strings(value: object) -> list[str]:
    return [item for item in value if isinstance(item, str)] if isinstance(value, list) else []
