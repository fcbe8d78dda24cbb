"""Enter the simple methods: uniform, rates only, p/c order, greedy information gain.

Usage: ``python benchmarks/frozen/enter_simple.py``
"""

from __future__ import annotations

import sys

from frozen_bench.entries import (
    devices_by,
    entry_of,
    planning_by,
    prior_only,
    scored,
    uniform,
)
from frozen_bench.published import publish
from frozen_bench.rules import by_chance_per_price, by_information


def main() -> int:
    entries = [
        entry_of("uniform", devices=devices_by(uniform)),
        entry_of("rates only", devices=devices_by(prior_only)),
        entry_of("p/c order", planning=planning_by(lambda _: by_chance_per_price)),
        entry_of("greedy information gain", planning=planning_by(by_information)),
    ]
    for entry in entries:
        publish(entry["method"], scored(entry))
        print(f"{entry['method']}: entered")
    return 0


if __name__ == "__main__":
    sys.exit(main())
