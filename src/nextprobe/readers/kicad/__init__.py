"""Readers of KiCad's open formats: boards (``.kicad_pcb``) and netlists (``.net``).

The formats are described in KiCad's developer documentation ("Board File Format",
"S-Expression Format"); what older versions write was seen in files.
"""

from nextprobe.readers.kicad.expressions import Progress
from nextprobe.readers.kicad.layout import Layout, read_kicad_board, read_layout
from nextprobe.readers.kicad.netlist import read_kicad_netlist

__all__ = ["Layout", "Progress", "read_kicad_board", "read_kicad_netlist", "read_layout"]
