"""A rehearsal that another program has started, and that ends with it.

Usage: python -m nextprobe.cli.watched_rehearsal FOLDER WORDS…

Standard input is the tie: each byte asks it to stop and say what was played by then. Its end means
that whoever started it is gone, however that ended: nobody will read anything, so the folder that
the rehearsal writes to is removed, and the process ends at once.
"""

from __future__ import annotations

import _thread
import os
import shutil
import signal
import sys
from threading import Thread

_NICENESS = 10


def tie(folder: str, line: int) -> None:
    """Do as the one at the other end of the line says, until it is gone.

    Parameters
    ----------
    folder : str
        What is removed at the end.
    line : int
        Descriptor of a file.
    """
    while os.read(line, 1):
        _thread.interrupt_main()
    shutil.rmtree(folder, ignore_errors=True)
    os._exit(1)


def main() -> None:
    """Rehearse as the words after the folder say."""
    folder = sys.argv.pop(1)
    # A server that a shell started in the background ignores interrupts, and so would its children.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    if hasattr(os, "nice"):
        os.nice(_NICENESS)
    Thread(target=tie, args=(folder, sys.stdin.fileno()), daemon=True).start()

    from nextprobe.cli.main import run  # noqa: PLC0415

    run()


if __name__ == "__main__":
    main()
