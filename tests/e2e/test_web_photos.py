"""Photos of a job: from a file, from the clipboard, with marks that stay; bad files are refused."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from web_driving import (
    Browser,
    Page,
    asked,
    awaited,
    expect,
    opened,
    said_in,
    settled,
    started,
    troubles,
)
from web_pages import serving

pytestmark = pytest.mark.slow
PASTE = """async () => {
  const canvas = new OffscreenCanvas(300, 200);
  const pen = canvas.getContext("2d");
  pen.fillStyle = "seagreen";
  pen.fillRect(0, 0, 300, 200);
  const blob = await canvas.convertToBlob({ type: "image/png" });
  await navigator.clipboard.write([new ClipboardItem({ "image/png": blob })]);
}"""


def picture() -> bytes:
    made = BytesIO()
    Image.new("RGB", (400, 300), "teal").save(made, "JPEG")
    return made.getvalue()


def attached(page: Page, name: str, kind: str, content: bytes) -> None:
    page.locator("#photo-file").set_input_files(
        [{"name": name, "mimeType": kind, "buffer": content}]
    )


def place_of_mark(page: Page) -> tuple[float, float]:
    """Return where the first mark is on its photo, as shares of its width and height."""
    mark, photo = page.locator(".photo-mark").first, page.locator(".photo-frame img").first
    expect(mark).to_be_visible()
    inner, outer = mark.bounding_box(), photo.bounding_box()
    assert inner is not None and outer is not None
    across = (inner["x"] + inner["width"] / 2 - outer["x"]) / outer["width"]
    down = (inner["y"] + inner["height"] / 2 - outer["y"]) / outer["height"]
    return across, down


def test_photos_with_a_mark_stay(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        page = opened(
            browser, f"{base}/jobs/{job}", permissions=["clipboard-read", "clipboard-write"]
        )
        wrong = troubles(page)
        settled(page)
        page.locator("[data-photos] summary").click()
        page.locator("#photo-caption").fill("J4 from above")
        attached(page, "board.jpg", "image/jpeg", picture())
        photos = page.locator("figure:has(.photo-frame)")
        expect(photos).to_have_count(1)
        expect(photos).to_contain_text("J4 from above")
        expect(page.locator("#photo-caption")).to_have_value("")

        page.evaluate(PASTE)
        page.keyboard.press("Control+v")
        expect(photos).to_have_count(2)
        names = [photo["name"] for photo in asked(base, f"/jobs/{job}/photos")["photos"]]
        assert sorted(name.rpartition(".")[2] for name in names) == ["jpg", "png"]

        settled(page)
        page.locator("#photo-word").fill("burnt")
        frame = photos.filter(has_text="J4 from above").locator("img")
        size = frame.bounding_box()
        assert size is not None
        frame.click(position={"x": 0.25 * size["width"], "y": 0.75 * size["height"]})
        expect(photos.filter(has_text="J4 from above").locator("li")).to_have_text(["burnt"])
        assert place_of_mark(page) == pytest.approx((0.25, 0.75), abs=0.02)

        page.reload()
        settled(page)
        expect(photos).to_have_count(2)
        expect(photos.filter(has_text="J4 from above").locator("li")).to_have_text(["burnt"])
        assert place_of_mark(page) == pytest.approx((0.25, 0.75), abs=0.02)
        for each in range(2):
            there = "image => image.complete && image.naturalWidth > 0"
            frames = "document.querySelectorAll('.photo-frame img')"
            awaited(page, f"each => ({there})({frames}[each])", each)
        assert "burnt" in said_in(base, job)[-1]
        assert not wrong


def test_a_file_that_is_no_photo_is_refused_with_words(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        page = opened(browser, f"{base}/jobs/{job}")
        settled(page)
        page.locator("[data-photos] summary").click()
        refused = page.locator("#photos figure[data-waiting]")
        for content, words in ((b"just words", "no photo"), (picture()[:400], "not whole")):
            attached(page, "board.jpg", "image/jpeg", content)
            expect(refused).to_contain_text("Not taken.")
            expect(refused).to_contain_text(words)
            expect(refused).to_contain_text("send a JPEG, PNG or WebP file")
            refused.get_by_role("button", name="Remove it").click()
            expect(refused).to_have_count(0)
        assert asked(base, f"/jobs/{job}/photos")["photos"] == []
        assert said_in(base, job) == []
        attached(page, "board.jpg", "image/jpeg", picture())
        expect(page.locator("figure:has(.photo-frame)")).to_have_count(1)
