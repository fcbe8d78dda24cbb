"""Score an entry to the frozen diagnosis benchmark; see docs/benchmark.md.

Usage: ``python benchmarks/frozen/score.py ENTRY [--json] [--worst N] [--against OTHER]
[--save NAME]``, with entries as JSON, or as Python with the functions ``choose`` and ``chances``.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

from frozen_bench.entries import read_entry, scored
from frozen_bench.files import EntryError, changed_files
from frozen_bench.pairs import differences, say_differences
from frozen_bench.published import publish
from frozen_bench.tables import all_tables, worst_table


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description="Score an entry to the benchmark.")
    parser.add_argument("entry", type=Path)
    parser.add_argument("--json", action="store_true", help="print the scores as JSON")
    parser.add_argument("--worst", type=int, default=0, help="how many bad devices to name")
    parser.add_argument("--against", type=Path, help="another entry, to be compared one by one")
    parser.add_argument("--save", default="", help="publish the scores under this name")
    asked = parser.parse_args(arguments)
    changed = changed_files()
    if changed:
        print(f"the data are not those of the benchmark: {', '.join(changed)}", file=sys.stderr)
        return 2
    try:
        entry = read_entry(asked.entry)
        found = scored(entry, asked.worst)
        apart = {} if asked.against is None else differences(entry, read_entry(asked.against))
    except (EntryError, OSError) as error:
        print(error, file=sys.stderr)
        return 1
    if asked.save:
        publish(asked.save, found)
    if asked.json:
        if apart:
            found["other_is_worse_by"] = {name: asdict(each) for name, each in apart.items()}
        print(json.dumps(found, indent=1, ensure_ascii=False))
        return 0
    print(all_tables({entry["method"]: found}))
    if apart:
        print(f"\n{asked.against} is worse by\n\n{say_differences(apart)}")
    for checkpoint in found.get("worst", {}):
        print(f"\nWorst, {checkpoint}:\n\n{worst_table(found, checkpoint)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
