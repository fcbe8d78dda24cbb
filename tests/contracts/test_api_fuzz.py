"""Made-up requests: no answer is a server error, and each is as described.

A few here; ``tools/fuzz_api.py`` sends 20,000.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from api_fuzz import fuzz


def test_no_request_is_answered_with_a_server_error(tmp_path: Path) -> None:
    tally = fuzz(tmp_path, 6)
    assert tally.requests > 150
    assert tally.server_errors == 0
    assert any(status == 200 for _, status in tally.statuses)


@pytest.mark.slow
def test_nor_is_any_of_hundreds(tmp_path: Path) -> None:
    tally = fuzz(tmp_path, 30, number=2)
    assert tally.requests > 600
    assert tally.server_errors == 0
