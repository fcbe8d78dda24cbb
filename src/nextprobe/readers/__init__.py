"""Readers: text from files and people becomes boards and tables, with findings."""

from nextprobe.readers.chains import read_chains, write_chains
from nextprobe.readers.pins import read_pins

__all__ = ["read_chains", "read_pins", "write_chains"]
