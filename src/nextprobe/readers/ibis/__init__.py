"""Reader of clamp tables in IBIS files (ANSI/EIA-656), versions 1.1 to 5.x.

Read are pins, models and what their clamps carry. Everything else, such as ramps, waveforms,
packages and submodels, is passed over.
"""

from nextprobe.readers.ibis.clamps import clamps_of, pin_clamps, usable
from nextprobe.readers.ibis.content import Component, IbisFile, IbisPin, Model
from nextprobe.readers.ibis.read import read_ibis, read_ibis_file

__all__ = [
    "Component",
    "IbisFile",
    "IbisPin",
    "Model",
    "clamps_of",
    "pin_clamps",
    "read_ibis",
    "read_ibis_file",
    "usable",
]
