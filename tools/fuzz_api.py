"""Send thousands of made-up requests to the JSON interface; none may be answered with a 5xx.

Usage: python tools/fuzz_api.py [REQUESTS] [SEED]
"""

from __future__ import annotations

import logging
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "support"))

from api_fuzz import Tally, fuzz

OPERATIONS = 57


def main(requests: int = 20_000, seed: int = 1) -> int:
    """Send the requests, and say how they were answered.

    Some operations have fewer different requests than are asked for; then others follow.
    """
    logging.disable(logging.CRITICAL)
    tally = Tally()
    while tally.requests < requests:
        left = requests - tally.requests
        with tempfile.TemporaryDirectory() as folder:
            tally.statuses += fuzz(Path(folder), -(-left // OPERATIONS), seed).statuses
        seed += 1
    for (operation, status), count in sorted(tally.statuses.items()):
        print(f"{count:6d}  {status}  {operation}")
    print(f"{tally.requests} requests, {tally.server_errors} answered with a 5xx")
    return 1 if tally.server_errors else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:])))
