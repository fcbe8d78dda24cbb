"""What must be shown before a replaced module is handed over."""

from __future__ import annotations

from nextprobe.diagnosis.acts import ORIGINAL
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import Situation


def unproven(model: Model, situation: Situation) -> tuple[str, ...]:
    """Return the modules that are replaced though nothing shows that the original is bad.

    Where a module is recognised only after a refresh, a swap that works once the firmware has
    been refreshed is explained by stale recognition as well. Only the original that still fails
    after the refresh proves that it is bad.
    """
    return tuple(
        slot
        for slot, instance in situation.configuration.fitted.items()
        if instance != ORIGINAL and needs_proof(model, situation, slot)
    )


def needs_proof(model: Model, situation: Situation, slot: str) -> bool:
    """Tell whether the original of a module has not failed since the last refresh."""
    late = model.pack.modules[slot].recognised == "after refresh"
    return late and (slot, ORIGINAL) not in situation.failed
