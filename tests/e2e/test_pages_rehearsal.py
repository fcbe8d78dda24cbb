"""A rehearsal over the interface runs in a process of its own, and can be stopped."""

from __future__ import annotations

import time
from pathlib import Path

import httpx
import pytest
from web_pages import serving

pytestmark = pytest.mark.slow
PATIENCE = 120.0


def test_a_rehearsal_is_started_once_and_stopped(tmp_path: Path) -> None:
    with (
        serving(tmp_path) as (_, base),
        httpx.Client(base_url=f"{base}/api/v1", timeout=60) as client,
    ):
        place = "/packs/courier-handheld/rehearsal"
        assert client.get(place).raise_for_status().json()["planned"] == 0
        wrong = {"key": "rehearse-0", "devices": 3, "complaint": "gears"}
        assert client.post(place, json=wrong).status_code == 422
        new = {"key": "rehearse-1", "devices": 3, "complaint": "touch"}
        started = client.post(place, json=new).raise_for_status().json()
        assert (started["running"], started["planned"], started["done"]) == (True, 3, 0)
        assert client.post(place, json=new | {"key": "rehearse-2"}).status_code == 409
        client.post(f"{place}/stop", json={"key": "rehearse-3"}).raise_for_status()
        end = time.monotonic() + PATIENCE
        while (found := client.get(place).json())["running"]:
            assert time.monotonic() < end, "it goes on"
            time.sleep(0.2)
        assert found["stopped"] and not found["failed"]
