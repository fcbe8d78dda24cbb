"""A thing that can be done next, and the limits that nothing may cross."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class Option:
    """Something worth offering as the next step, whole: not its single motions.

    Parameters
    ----------
    id : str
        Stable name, the same in every state where the option exists; also its name in a
        plan table.
    title : str
        One line for people.
    kind : str
        Free word that groups options.
    steps : tuple of str
        What to do, in order.
    effects : frozenset of str
        Lasting effects, checked against :class:`Limits`.
    cautions : tuple of str
        What to beware of.
    """

    id: str
    title: str
    kind: str = ""
    steps: tuple[str, ...] = ()
    effects: frozenset[str] = field(default_factory=frozenset)
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Limits:
    """Hard constraints: an option that crosses one is not offered at any price.

    Parameters
    ----------
    forbidden : frozenset of str
        Effects that must not happen.
    ceiling : float or None
        The most that may be charged [currency].

    Raises
    ------
    MisuseError
        If the ceiling is negative or not a number.
    """

    forbidden: frozenset[str] = field(default_factory=frozenset)
    ceiling: float | None = None

    def __post_init__(self) -> None:
        if self.ceiling is not None and (math.isnan(self.ceiling) or self.ceiling < 0.0):
            raise MisuseError(f"a ceiling of {self.ceiling} makes no sense")

    def admits(self, option: Option, charge: float = 0.0) -> bool:
        """Tell whether an option may be offered.

        Parameters
        ----------
        option : Option
            What is to be done.
        charge : float
            What would have to be charged in all once it is done [currency].
        """
        affordable = self.ceiling is None or charge <= self.ceiling
        return affordable and not (option.effects & self.forbidden)
