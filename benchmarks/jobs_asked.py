"""What the benchmarks of ready-made jobs are asked for on the command line."""

from __future__ import annotations

import argparse
from dataclasses import dataclass

from nextprobe.trials.ready import Shelf


@dataclass(frozen=True)
class Asked:
    """A pack, how many seeds, and which jobs; all of them where none is named."""

    pack: str
    seeds: int
    jobs: tuple[str, ...]

    def names(self, shelf: Shelf) -> tuple[str, ...]:
        """Return the jobs that are meant."""
        return self.jobs or tuple(shelf.pack.jobs)


def asked(about: str | None, seeds: int) -> Asked:
    """Read ``[--pack PACK] [SEEDS] [JOB ...]``."""
    parser = argparse.ArgumentParser(
        description=about, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pack", default="courier-handheld")
    parser.add_argument("seeds", nargs="?", type=int, default=seeds)
    parser.add_argument("jobs", nargs="*")
    found = parser.parse_args()
    return Asked(found.pack, found.seeds, tuple(found.jobs))
