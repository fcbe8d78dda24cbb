"""Readers: text from files and people becomes boards and tables, with findings."""

from nextprobe.readers.board_file import read_board_file
from nextprobe.readers.chains import read_chains, write_chains
from nextprobe.readers.kicad import read_kicad_board, read_kicad_netlist
from nextprobe.readers.pins import read_pins

__all__ = [
    "read_board_file",
    "read_chains",
    "read_kicad_board",
    "read_kicad_netlist",
    "read_pins",
    "write_chains",
]
