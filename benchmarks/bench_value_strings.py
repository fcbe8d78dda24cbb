"""How many values and kinds of parts are read, unread and wrong, on strings of published boards.

    uv run python benchmarks/bench_value_strings.py [--show]

The key was labelled by hand from the boards of Debian's kicad-demos 9.0.8: which string means
which value and which part is of which kind. Boards marked *held-out* were labelled before any
parser had read them, and no rule was written for what they got wrong.
"""

from __future__ import annotations

import csv
import math
import sys
from collections import Counter
from pathlib import Path

from nextprobe.board import classify

KEY = Path(__file__).parent / "data" / "value_key.csv"
COLUMNS = ("read", "rightly none", "unread", "wrong")


def outcome(row: dict[str, str]) -> tuple[str, bool]:
    """Return how the value of a part came out, and whether its kind is right."""
    found = classify(row["part"], row["text"], ["?"] * int(row["pins"]), row["footprint"])
    stated = float(row["value"]) if row["value"] else None
    kind = found.guess.kind.value == row["kind"]
    if found.not_fitted != (row["not_fitted"] == "yes"):
        return "wrong", kind
    if found.value is None:
        return ("rightly none" if stated is None else "unread"), kind
    right = stated is not None and math.isclose(found.value, stated, rel_tol=1e-9)
    return ("read" if right else "wrong"), kind


def main() -> None:
    """Print one line for each half of the key."""
    rows = list(csv.DictReader(KEY.read_text("utf-8").splitlines()))
    for split in ("tuned", "held-out"):
        half = [row for row in rows if row["split"] == split]
        results = [(row, *outcome(row)) for row in half]
        counted = Counter(how for _, how, _ in results)
        kinds = sum(right for _, _, right in results)
        strings = len({row["text"] for row in half})
        words = ", ".join(f"{counted[name]} {name}" for name in COLUMNS)
        print(f"{split}: {len(half)} parts, {strings} strings: {words}; kinds {kinds}/{len(half)}")
        if "--show" in sys.argv and (split == "tuned" or "--all" in sys.argv):
            for row, how, right in results:
                if how in ("unread", "wrong") or not right:
                    print(
                        "  ", how, right, *(row[k] for k in ("part", "text", "kind", "footprint"))
                    )


if __name__ == "__main__":
    main()
