"""What is known for certain of the state of the device."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

Pair = tuple[str, str]
_NONE: frozenset[str] = frozenset()
_NO_PAIRS: frozenset[Pair] = frozenset()


@dataclass(frozen=True)
class Configuration:
    """The part of the state that nobody needs to infer, since it was done on purpose.

    All names are free strings; planning gives them no meaning. Hashable and immutable.

    Parameters
    ----------
    fitted : mapping of str to str
        Slot to the instance that sits in it.
    recognised : frozenset of (str, str)
        Slot and instance that have been made known to the rest of the device.
    paired : frozenset of (str, str)
        Slot and instance that are tied to each other.
    opened : str
        How far the device is taken apart.
    cleaned, removed, repaired, refreshed : frozenset of str
        What has been treated so.
    backed_up : bool
        Whether what could be lost has been saved.
    meter : str
        What the meter is set to; empty before it is first used.
    powered : bool
        Whether the device is under power on the bench.
    """

    fitted: Mapping[str, str] = field(default_factory=dict)
    recognised: frozenset[Pair] = _NO_PAIRS
    paired: frozenset[Pair] = _NO_PAIRS
    opened: str = "closed"
    cleaned: frozenset[str] = _NONE
    removed: frozenset[str] = _NONE
    repaired: frozenset[str] = _NONE
    refreshed: frozenset[str] = _NONE
    backed_up: bool = False
    meter: str = ""
    powered: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "fitted", dict(sorted(self.fitted.items())))

    def __hash__(self) -> int:
        return hash(
            (
                tuple(self.fitted.items()),
                self.recognised,
                self.paired,
                self.opened,
                self.cleaned,
                self.removed,
                self.repaired,
                self.refreshed,
                self.backed_up,
                self.meter,
                self.powered,
            )
        )

    def with_(
        self,
        *,
        fitted: Mapping[str, str] | None = None,
        recognised: Iterable[Pair] = (),
        paired: Iterable[Pair] = (),
        opened: str | None = None,
        cleaned: Iterable[str] = (),
        removed: Iterable[str] = (),
        repaired: Iterable[str] = (),
        refreshed: Iterable[str] = (),
        backed_up: bool | None = None,
        meter: str | None = None,
        powered: bool | None = None,
    ) -> Configuration:
        """Return a copy with entries added to the sets and slots, and the rest replaced."""
        return Configuration(
            fitted={**self.fitted, **(fitted or {})},
            recognised=self.recognised.union(recognised),
            paired=self.paired.union(paired),
            opened=self.opened if opened is None else opened,
            cleaned=self.cleaned.union(cleaned),
            removed=self.removed.union(removed),
            repaired=self.repaired.union(repaired),
            refreshed=self.refreshed.union(refreshed),
            backed_up=self.backed_up if backed_up is None else backed_up,
            meter=self.meter if meter is None else meter,
            powered=self.powered if powered is None else powered,
        )

    def without(
        self,
        *,
        recognised: Iterable[Pair] = (),
        paired: Iterable[Pair] = (),
        cleaned: Iterable[str] = (),
        removed: Iterable[str] = (),
        repaired: Iterable[str] = (),
        refreshed: Iterable[str] = (),
    ) -> Configuration:
        """Return a copy with entries taken out of the sets; absent ones do not matter."""
        return replace(
            self,
            recognised=self.recognised.difference(recognised),
            paired=self.paired.difference(paired),
            cleaned=self.cleaned.difference(cleaned),
            removed=self.removed.difference(removed),
            repaired=self.repaired.difference(repaired),
            refreshed=self.refreshed.difference(refreshed),
        )
