"""Notes of chains: what a technician knows of a board, a line of text per chain.

A chain goes from point to point::

    J4.12 > C87 100n > U3.AB4            # connector pin, series part, chip pin
    J4.30 > FB2 600R > VDD_CAM > U7.OUT  # a bare name is a net
    U3.AB4 | D5 esd > GND | R9 10k > VDD_IO | C12 1u

``>``
    (or ``->``) leads on. A point is a pin (``J4.12``) or a net (``VDD_CAM``); two points in a row
    are the same net. A part of two pins stands on its own, with the words that describe it; its
    first pin is on its left.
``|``
    hangs parts on the last point before the first ``|``. A hanging chain ends on the net that is
    written last, or on ground.
``#``
    starts a comment.
``"…"``
    quotes a name that has blanks or signs in it, or a net that looks like a part (``"D0"``).

Lines that start with one of these words declare something instead::

    board NAME                     what the board is called
    part U3 chip main processor    kind of a part, and words about it
    value C87 100n                 value, where the words do not say it; ``none`` for unknown
    net VDD_CAM rail               a net, and its role if it is known
    role VDD_CAM rail              the role of a net that is in a chain
    supply U3.AB4 VDD_IO           rail that a pin's upper clamp conducts to (the last word)
    at C87 12.1 3.4                where a part is [mm]
    pins Q3 3 1 2                  order of a part's pins, where it is not the usual one
    implied U?J4                   a part that stands in for something nobody has named yet

A net without a name is called after its first connector pin, else its first chip pin, else its
first pin: ``N_J4_12``. Every mistake is a finding with its line and column; the rest is read.
"""

from nextprobe.readers.chains.read import read_chains
from nextprobe.readers.chains.write import write_chains

__all__ = ["read_chains", "write_chains"]
