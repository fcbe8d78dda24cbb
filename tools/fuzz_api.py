"""Send thousands of made-up requests to the JSON interface; none may be answered with a 5xx.

Usage: python tools/fuzz_api.py [REQUESTS] [SEED]
"""

from __future__ import annotations

import logging
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "support"))

from api_fuzz import fuzz

OPERATIONS = 57


def main(requests: int = 20_000, seed: int = 1) -> int:
    """Send the requests, and say how they were answered."""
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory() as folder:
        tally = fuzz(Path(folder), -(-requests // OPERATIONS), seed)
    for (operation, status), count in sorted(tally.statuses.items()):
        print(f"{count:6d}  {status}  {operation}")
    print(f"{tally.requests} requests, {tally.server_errors} answered with a 5xx")
    return 1 if tally.server_errors else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:])))
