"""A board of 3,000 parts on the bench itself: found by name, turned, walked by keys, as a list."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from web_big_board import big_pack
from web_driving import Browser, Hands, expect, opened, settled, troubles
from web_pages import serving

pytestmark = pytest.mark.slow


def test_a_big_board_is_searched_turned_and_walked_by_keys(
    tmp_path: Path, browser: Browser
) -> None:
    board = big_pack(tmp_path / "packs" / "trestle")
    back = next(p["reference"] for p in board["parts"] if p["side"] == "back" and p["kind"] == "ic")
    with serving(tmp_path) as (_, base):
        body = {"key": "big-00001", "pack": "trestle", "complaint": "touch"}
        made = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=120).raise_for_status()
        page = opened(browser, f"{base}/jobs/{made.json()['job']}")
        wrong = troubles(page)
        settled(page)
        counts = f"{len(board['parts'])} parts, {len(board['nets'])} nets"
        expect(page.locator("#map")).to_contain_text(counts)
        hands = Hands(page)
        board_map = page.locator("board-map")
        expect(board_map.get_by_role("application")).to_have_accessible_name(re.compile("front"))
        hands.reach("#map details summary")
        hands.press("Enter")
        hands.write("input[aria-label='Search the pads']", f"{back}.7")
        pads = page.locator("pad-list")
        expect(pads.get_by_role("button", name=f"{back}.7", exact=True)).to_be_visible()
        hands.reach("button.pin")
        hands.press("Enter")
        expect(board_map.get_by_role("application")).to_have_accessible_name(re.compile("back"))
        expect(board_map).to_contain_text(f"{back}.7")
        board_map.get_by_role("application").focus()
        hands.press("ArrowRight")
        expect(board_map.locator("p strong")).not_to_have_text(f"{back}.7")
        board_map.get_by_role("searchbox").focus()
        hands.type("J1.24")
        hands.press("Enter")
        expect(board_map.get_by_role("application")).to_have_accessible_name(re.compile("front"))
        expect(board_map).to_contain_text("J1.24")
        assert not wrong
