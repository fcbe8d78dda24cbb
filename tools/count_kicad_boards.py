"""Count footprints, nets and pads with KiCad itself, to compare our reader with.

Run by the Python that KiCad's ``pcbnew`` module belongs to, not by the project's:

    python3 tools/count_kicad_boards.py FILE... > tests/published/kicad_counts.json
"""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path

import pcbnew  # type: ignore[import-not-found]

MILLI = 1e-6
"""One internal unit of KiCad, a nanometre, in mm."""


def shown(net: str) -> str:
    """Return the name of a net as KiCad shows it."""
    return str(net).replace("{slash}", "/")


def counts(path: Path) -> dict[str, object]:
    """Return what KiCad finds in a board."""
    board = pcbnew.LoadBoard(str(path))
    footprints = list(board.GetFootprints())
    pads = [(f, pad) for f in footprints for pad in f.Pads()]
    copper = [(f, pad) for f, pad in pads if pad.IsOnCopperLayer() and pad.GetNumber()]
    joined = [(f, pad) for f, pad in copper if pad.GetNetname()]
    edge = board.GetBoardEdgesBoundingBox()
    return {
        "file": path.name,
        "footprints": len(footprints),
        "back": sum(footprint.IsFlipped() for footprint in footprints),
        "not_fitted": sum(footprint.IsDNP() for footprint in footprints),
        "pads": len(pads),
        "copper_pads": len(copper),
        "pins": len({(f.GetReference(), pad.GetNumber()) for f, pad in copper}),
        "joined_pins": len({(f.GetReference(), pad.GetNumber()) for f, pad in joined}),
        "functions": sum(bool(pad.GetPinFunction()) for _, pad in copper),
        "nets": len({pad.GetNetname() for _, pad in joined}),
        "sum_x_mm": round(sum(pad.GetPosition().x for _, pad in copper) * MILLI, 3),
        "sum_y_mm": round(sum(pad.GetPosition().y for _, pad in copper) * MILLI, 3),
        "sum_x_by_net_mm": round(
            sum(pad.GetPosition().x * len(shown(pad.GetNetname())) for _, pad in joined) * MILLI, 3
        ),
        "edge_mm": [round(edge.GetWidth() * MILLI, 3), round(edge.GetHeight() * MILLI, 3)],
    }


def main() -> None:
    """Write the counts of every file that is named."""
    found = {
        hashlib.sha256(path.read_bytes()).hexdigest(): counts(path)
        for path in map(Path, sys.argv[1:])
    }
    about = {"by": f"pcbnew {pcbnew.Version()}", "how": "tools/count_kicad_boards.py"}
    json.dump({"about": about, "boards": found}, sys.stdout, indent=1, sort_keys=True)


if __name__ == "__main__":
    main()
