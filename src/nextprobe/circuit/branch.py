"""One two-terminal element of the DC network."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Branch:
    """A resistor, or a junction with series resistance.

    Parameters
    ----------
    name : str
        Unique in its network, as in ``U3.AB4 lower``.
    start, end : str
        Nodes; a junction conducts from start (anode) to end (cathode).
    ohms : float
        Resistance, or series resistance of the junction [ohm].
    saturation : float
        Saturation current at the board's temperature [A]; 0 for a resistor.
    emission : float
        Emission coefficient times thermal voltage [V]; 0 for a resistor.
    saturation_name, ohms_name : str
        Parameters (see `Deviations`) that scale `saturation` and `ohms`; empty for none.
    """

    name: str
    start: str
    end: str
    ohms: float
    saturation: float = 0.0
    emission: float = 0.0
    saturation_name: str = ""
    ohms_name: str = ""

    @property
    def electrical(self) -> tuple[str, str, float, float, float]:
        """What a reading can see of it: everything but names; resistors have no direction."""
        start, end = self.start, self.end
        if not self.saturation and end < start:
            start, end = end, start
        return start, end, self.ohms, self.saturation, self.emission
