"""Faults: what can be wrong, and where."""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.board.kinds import FaultKind


@dataclass(frozen=True, order=True)
class Fault:
    """One thing that can be wrong.

    Parameters
    ----------
    kind : FaultKind
        How it fails.
    place : str
        Where. A part (``C87``), a pin (``U3.AB4``), two pins (``J4.12~J4.13``) for a bridge,
        a net and the pin that is cut off from the rest of it (``CAM_SDA/J4.12``) for a broken net,
        a module, a connector, or a region for an unlisted fault.
    magnitude : float or None
        Resistance of a leak or of a high-resistance path [ohm], factor of a drift [1], share of
        the readings near it that a fault without a circuit model disturbs [1];
        None for faults that have none.
    """

    kind: FaultKind
    place: str
    magnitude: float | None = None

    @property
    def key(self) -> str:
        """Stable name, as in ``leaky:C87@3300``."""
        size = "" if self.magnitude is None else f"@{self.magnitude:g}"
        return f"{self.kind.value.replace(' ', '-')}:{self.place}{size}"

    @property
    def family(self) -> str:
        """Name without the magnitude: faults that one repair can not tell apart."""
        return f"{self.kind.value.replace(' ', '-')}:{self.place}"


def fault_from_key(key: str) -> Fault:
    """Read a fault from its `key`; raises ValueError if it is not one."""
    word, _, rest = key.partition(":")
    place, at, size = rest.partition("@")
    return Fault(FaultKind(word.replace("-", " ")), place, float(size) if at else None)


@dataclass(frozen=True)
class FaultClass:
    """Faults that no reading, function or repair can tell apart."""

    representative: Fault
    members: tuple[Fault, ...]
