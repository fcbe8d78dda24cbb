"""What is entered while the server is away outlives the window, and is sent once."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image
from web_driving import Browser, Page, expect
from web_pages import WAIT, free_port, serving

pytestmark = pytest.mark.slow
_TRIES_TO_WAIT_FOR = 6


def photo() -> dict[str, Any]:
    out = BytesIO()
    Image.new("RGB", (80, 60), "teal").save(out, "JPEG")
    return {"name": "board.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def attach(page: Page, file: dict[str, Any], caption: str) -> None:
    page.locator("[data-photos] summary").click()
    page.locator("#photo-caption").fill(caption)
    page.locator("#photo-file").set_input_files([file])  # type: ignore[list-item]


def on_the_bench(page: Page, address: str) -> None:
    page.set_default_timeout(WAIT)
    page.goto(address)
    expect(page.locator("#step")).not_to_have_attribute("aria-busy", "true")
    for part in ("[data-teach=note]", "[data-photos]"):
        expect(page.locator(part)).to_be_visible()


def test_a_photo_outlives_the_server_and_the_window(tmp_path: Path, browser: Browser) -> None:
    port, context = free_port(), browser.new_context()
    with serving(tmp_path, port=port) as (process, base):
        body = {"key": "intake-0001", "template": "camera", "device": "Brindle 4"}
        job = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=60).json()["job"]
        page = context.new_page()
        on_the_bench(page, f"{base}/jobs/{job}")
        process.kill()
        process.wait()
        tries: list[str] = []
        page.on(
            "requestfailed",
            lambda made: tries.append(made.url) if "/photos?" in made.url else None,
        )
        attach(page, photo(), "J1 from above")
        expect(page.locator("#photos [data-waiting]")).to_contain_text("J1 from above")
        expect(page.locator(".connection")).to_contain_text("1 photo is waiting")
        while len(tries) < _TRIES_TO_WAIT_FOR:
            page.wait_for_event("requestfailed")
        expect(page.locator("#photos [data-waiting]")).to_have_count(1)
        page.close()
    with serving(tmp_path, port=port) as (_, base):
        page = context.new_page()
        on_the_bench(page, f"{base}/jobs/{job}")
        expect(page.locator("#photos figure:has(.photo-frame)")).to_contain_text("J1 from above")
        expect(page.locator("#photos [data-waiting]")).to_have_count(0)
        photos = httpx.get(f"{base}/api/v1/jobs/{job}/photos", timeout=60).json()["photos"]
        assert [line["caption"] for line in photos] == ["J1 from above"]


def test_entries_outlive_the_window_in_their_order(tmp_path: Path, browser: Browser) -> None:
    port, context = free_port(), browser.new_context()
    with serving(tmp_path, port=port) as (process, base):
        body = {"key": "intake-0001", "template": "camera", "device": "Brindle 4"}
        job = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=60).json()["job"]
        page, other = context.new_page(), context.new_page()
        for each in (page, other):
            on_the_bench(each, f"{base}/jobs/{job}")
        process.kill()
        process.wait()
        for each, text in ((page, "first"), (other, "second")):
            each.locator("[data-teach=note] summary").click()
            each.locator("#teach-note").fill(text)
            each.locator("[data-teach=note] button").click()
            expect(each.locator(".connection")).to_contain_text("1 entry is waiting")
        page.close()
        other.close()
    with serving(tmp_path, port=port) as (_, base):
        page = context.new_page()
        on_the_bench(page, f"{base}/jobs/{job}")
        expect(page.locator("#log li")).to_have_count(3)
        events = httpx.get(f"{base}/api/v1/jobs/{job}/events", timeout=60).json()["events"]
        assert [line["said"] for line in events[1:]] == [["first"], ["second"]]
        waiting = "Object.keys(localStorage).filter((name) => name.includes('waiting'))"
        assert page.evaluate(waiting) == []


def test_what_is_typed_while_an_entry_waits_stays(tmp_path: Path, browser: Browser) -> None:
    port = free_port()
    with serving(tmp_path, port=port) as (process, base):
        body = {"key": "intake-0001", "template": "camera", "device": "Brindle 4"}
        job = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=60).json()["job"]
        page = browser.new_context().new_page()
        on_the_bench(page, f"{base}/jobs/{job}")
        process.kill()
        process.wait()
        page.locator("[data-teach=note] summary").click()
        page.locator("#teach-note").fill("first")
        page.locator("[data-teach=note] button").click()
        expect(page.locator(".connection")).to_contain_text("1 entry is waiting")
        page.locator("#teach-note").fill("not yet recorded")
    with serving(tmp_path, port=port):
        expect(page.locator("#log")).to_contain_text("first")
        expect(page.locator("[data-teach=note] [role=status]")).to_contain_text("Recorded")
        expect(page.locator("#teach-note")).to_have_value("not yet recorded")


def test_a_device_that_was_taken_in_outlives_the_window(tmp_path: Path, browser: Browser) -> None:
    port, context = free_port(), browser.new_context()
    with serving(tmp_path, port=port) as (process, base):
        page = context.new_page()
        page.set_default_timeout(WAIT)
        page.goto(f"{base}/intake")
        page.locator("#says").fill("It went dark at the ferry")
        process.kill()
        process.wait()
        page.locator("button.main").click()
        expect(page.locator("#intake-state")).to_contain_text("kept")
        page.close()
    with serving(tmp_path, port=port) as (_, base):
        page = context.new_page()
        page.set_default_timeout(WAIT)
        page.goto(f"{base}/intake")
        page.locator(".said a").click()
        expect(page.locator("#complaint")).to_contain_text("It went dark at the ferry")
        assert len(httpx.get(f"{base}/api/v1/jobs", timeout=60).json()["jobs"]) == 1


def test_what_is_refused_is_shown_with_the_reason_and_can_be_removed(
    tmp_path: Path, browser: Browser
) -> None:
    with serving(tmp_path) as (_, base):
        body = {"key": "intake-0001", "template": "camera", "device": "Brindle 4"}
        job = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=60).json()["job"]
        page = browser.new_context().new_page()
        on_the_bench(page, f"{base}/jobs/{job}")
        attach(page, photo() | {"buffer": b"no photo"}, "odd")
        refused = page.locator("#photos [data-waiting]")
        expect(refused).to_contain_text("Not taken")
        expect(refused).to_contain_text("JPEG, PNG or WebP")
        refused.get_by_role("button").click()
        expect(refused).to_have_count(0)
        page.reload()
        expect(page.locator("#step")).not_to_have_attribute("aria-busy", "true")
        expect(refused).to_have_count(0)
