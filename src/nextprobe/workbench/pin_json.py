"""A pin as JSON: number, net and supply, then what else is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nextprobe.board import Pad, Pin, Side
from nextprobe.workbench.canonical import JsonValue


def pin_to_json(pin: Pin) -> JsonValue:
    """Return a pin as a list, no longer than what is known of it."""
    first: list[JsonValue] = [pin.number, pin.net, pin.supply]
    if not pin.function and not pin.pads:
        return first
    return [*first, pin.function, [_pad_to_json(pad) for pad in pin.pads]]


def pin_from_json(data: Sequence[Any]) -> Pin:
    """Return the pin that `pin_to_json` has written."""
    number, net, supply, *more = data
    if not more:
        return Pin(number, net, supply)
    return Pin(number, net, supply, more[0], tuple(map(_pad_from_json, more[1])))


def _pad_to_json(pad: Pad) -> JsonValue:
    return [*pad.position, *pad.size, pad.side.value, pad.rotation, pad.is_round]


def _pad_from_json(data: Sequence[Any]) -> Pad:
    x, y, width, height, side, rotation, is_round = data
    return Pad((x, y), (width, height), Side(side), rotation, is_round)
