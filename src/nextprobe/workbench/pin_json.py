"""A pin as JSON: number, net and supply, then what else is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nextprobe.board import Clamp, Pad, Pin, PinClamps, Side
from nextprobe.workbench.canonical import JsonValue


def pin_to_json(pin: Pin) -> JsonValue:
    """Return a pin as a list, no longer than what is known of it."""
    data: list[JsonValue] = [pin.number, pin.net, pin.supply]
    if pin.function or pin.pads or pin.clamps:
        data += [pin.function, [_pad_to_json(pad) for pad in pin.pads]]
    if pin.clamps:
        data.append(_clamps_to_json(pin.clamps))
    return data


def pin_from_json(data: Sequence[Any]) -> Pin:
    """Return the pin that `pin_to_json` has written."""
    number, net, supply, *more = data
    if not more:
        return Pin(number, net, supply)
    function, pads, *clamps = more
    known = _clamps_from_json(clamps[0]) if clamps else None
    return Pin(number, net, supply, function, tuple(map(_pad_from_json, pads)), known)


def _pad_to_json(pad: Pad) -> JsonValue:
    return [*pad.position, *pad.size, pad.side.value, pad.rotation, pad.is_round]


def _pad_from_json(data: Sequence[Any]) -> Pad:
    x, y, width, height, side, rotation, is_round = data
    return Pad((x, y), (width, height), Side(side), rotation, is_round)


def _clamps_to_json(clamps: PinClamps) -> JsonValue:
    return [_clamp_to_json(clamps.lower), _clamp_to_json(clamps.upper), clamps.no_upper]


def _clamps_from_json(data: Sequence[Any]) -> PinClamps:
    lower, upper, no_upper = data
    return PinClamps(_clamp_from_json(lower), _clamp_from_json(upper), no_upper)


def _clamp_to_json(clamp: Clamp | None) -> JsonValue:
    if clamp is None:
        return None
    return [clamp.saturation, clamp.emission, clamp.series, clamp.spread]


def _clamp_from_json(data: Sequence[float] | None) -> Clamp | None:
    return None if data is None else Clamp(*data)
