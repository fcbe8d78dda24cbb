"""Time and memory of reading KiCad boards, from the text of a file to a board.

    uv run python benchmarks/bench_kicad.py [FILE...]

Without files: the ten largest boards under ``/usr/share/kicad/demos`` and the folders that
``NEXTPROBE_KICAD_DEMOS`` names, parted by colons. Each board is read in a process of its own, so
that the peak of memory is its own.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

from nextprobe.readers import read_board_file

ONE = "--one"


def boards() -> list[Path]:
    """Return the boards to read, largest first."""
    named = [Path(name) for name in sys.argv[1:]]
    if named:
        return named
    folders = ["/usr/share/kicad/demos", *os.environ.get("NEXTPROBE_KICAD_DEMOS", "").split(":")]
    found = [file for name in folders if name for file in Path(name).rglob("*.kicad_pcb")]
    return sorted(found, key=lambda file: file.stat().st_size, reverse=True)[:10]


def read_one(file: Path) -> None:
    """Read one board and print what it took."""
    start = time.perf_counter()
    board, findings = read_board_file(file)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    parts, nets = (len(board.parts), len(board.nets)) if board is not None else (0, 0)
    size = file.stat().st_size / 1e6
    print(
        f"{file.name:42} {size:6.1f} MB {seconds:6.2f} s {peak:6.0f} MB peak "
        f"{parts:5} parts {nets:5} nets {len(findings):3} findings",
        flush=True,
    )


def main() -> None:
    """Read every board in a process of its own."""
    if sys.argv[1:2] == [ONE]:
        read_one(Path(sys.argv[2]))
        return
    found = boards()
    if not found:
        print("no boards: apt-get install kicad-demos, or name files")
    for file in found:
        subprocess.run([sys.executable, __file__, ONE, str(file)], check=True)


if __name__ == "__main__":
    main()
