"""The broad causes over which the shares of a complaint are known."""

from __future__ import annotations

from enum import StrEnum


class Cause(StrEnum):
    """Why a function fails, as coarsely as a shop counts it."""

    EXTERNAL = "external"
    MODULE = "module"
    SEATING = "seating"
    FIRMWARE = "firmware"
    PASSIVE_SHORT = "passive short"
    PASSIVE_OPEN = "passive open"
    CONTROLLER = "controller"
    POWER_CHIP = "power chip"
    PROCESSOR = "processor"
    RESIDUE = "liquid residue"
