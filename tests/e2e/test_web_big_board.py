"""A board of 3,000 parts on the bench itself: found by name, turned, walked by keys, as a list."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import httpx
import pytest
from web_big_board import big_pack
from web_driving import Browser, Hands, Page, awaited, expect, opened, settled, troubles
from web_pages import WAIT, serving

pytestmark = pytest.mark.slow

RECTANGLES_OF_A_FRAME = """
const { fillRect } = CanvasRenderingContext2D.prototype;
let drawn = 0;
CanvasRenderingContext2D.prototype.fillRect = function (...given) {
  drawn += 1;
  return fillRect.apply(this, given);
};
addEventListener("map-painted", () => { window.drawn = drawn; drawn = 0; }, true);
"""
"""At this scale each pad is a rectangle, drawn whenever the map is moved."""
PREDICTED = """() => document.querySelector("connector-picture")?.connector?.pins
  ?.filter((pin) => pin.expectation.spread.chances.length > 0).length"""
"""How many pins of the connector that is shown come with their distribution."""
FURTHER = 20
"""What else a frame may have: the ground itself, and what is marked."""


def drawn(page: Page, action: str) -> int:
    """Return how many rectangles a frame of the map has once something was done to it."""
    page.evaluate("window.drawn = null")
    page.locator("board-map").evaluate(action)
    return int(awaited(page, "window.drawn"))


def test_every_pad_of_a_big_board_is_drawn(tmp_path: Path, browser: Browser) -> None:
    board = big_pack(tmp_path / "packs" / "trestle")
    sides = Counter(board["pads"]["side"])
    assert sum(sides.values()) == 8000
    assert len(board["parts"]) == 3000
    with serving(tmp_path) as (_, base):
        body = {"key": "big-00002", "pack": "trestle", "complaint": "touch"}
        made = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=120).raise_for_status()
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.set_default_timeout(WAIT)
        page.add_init_script(RECTANGLES_OF_A_FRAME)
        wrong = troubles(page)
        page.goto(f"{base}/jobs/{made.json()['job']}")
        settled(page)
        expect(page.locator("#map")).to_contain_text("8000 pads")
        expect(page.locator("pad-list .found")).to_contain_text("8000 pads")
        awaited(page, "document.querySelector('board-map').suspicion?.length === 8000")
        for face in ("front", "back"):
            found = drawn(page, f"map => {{ map.face = '{face}'; map.fit(); map.chosen = null; }}")
            assert sides[face] <= found <= sides[face] + FURTHER
        assert awaited(page, PREDICTED) == 48
        assert not wrong


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
