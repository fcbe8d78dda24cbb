"""How a role looks: a colour and a sign, so that neither is needed to read the other.

Colours are those of Okabe and Ito (2008), "Color Universal Design", which people with any common
kind of colour vision can tell apart. The signs are our own, but for the three bars of ground.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nextprobe.board import Role

DARK, LIGHT = "#1b1b1f", "#ffffff"
_CORE = "M0-.7 .7 0 0 .7-.7 0ZM-.25 0H.25M0-.25V.25"
_RADIO = "M-.5.5 0 0M-.05-.55A.6.6 0 0 1 .55.05M0-.25A.3.3 0 0 1 .25 0"


@dataclass(frozen=True)
class Mark:
    """The look of a role.

    Parameters
    ----------
    name : str
        Of its class in the drawing.
    fill : str
        Colour of the copper.
    ink : str
        Colour of the sign on it.
    sign : str
        Path of the sign within a square from -1 to 1.
    """

    name: str
    fill: str
    ink: str
    sign: str


MARKS: Mapping[Role, Mark] = {
    Role.GROUND: Mark("ground", "#7d8085", LIGHT, "M-.7-.3H.7M-.45.1H.45M-.2.5H.2"),
    Role.RAIL: Mark("rail", "#D55E00", LIGHT, "M-.65 0H.65M0-.65V.65"),
    Role.CORE_RAIL: Mark("core-rail", "#CC79A7", DARK, _CORE),
    Role.LANE: Mark("lane", "#0072B2", LIGHT, "M-.55.6-.05-.6M.05.6 .55-.6"),
    Role.OPEN_DRAIN: Mark("open-drain", "#E69F00", DARK, "M-.6-.45H.6L0 .6Z"),
    Role.LOGIC: Mark("logic", "#56B4E9", DARK, "M-.7.45H-.25V-.45H.25V.45H.7"),
    Role.CLOCK: Mark("clock", "#F0E442", DARK, "M.65 0A.65.65 0 1 1 0-.65M0-.4V0H.35"),
    Role.ANALOGUE: Mark("analogue", "#009E73", LIGHT, "M-.7 0C-.45-.9-.2-.9 0 0S.45.9.7 0"),
    Role.RADIO: Mark("radio", DARK, LIGHT, _RADIO),
    Role.NOT_CONNECTED: Mark("not-connected", "none", "", "M-.5-.5 .5 .5M.5-.5-.5 .5"),
    Role.UNKNOWN: Mark("unknown", "none", "", "M-.35-.3A.35.35 0 1 1 0 .1V.25M0 .5V.6"),
}  # fmt: skip
"""One look for each role; those without a colour of their own are hollow."""


def mark_of(role: Role) -> Mark:
    """Return the look of a role."""
    return MARKS[role]
