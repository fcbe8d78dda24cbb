"""The pages in a real browser against a real server: by keyboard, in two windows, after a kill."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from web_driving import Browser, expect, log_of, opened, settled, started
from web_pages import WAIT, free_port, serving

pytestmark = pytest.mark.slow


def test_a_demo_job_from_the_list_to_its_end_by_keyboard_alone(
    tmp_path: Path, browser: Browser
) -> None:
    with serving(tmp_path) as (_, base):
        page = opened(browser, base)
        expect(page.locator("[data-play=stale]")).to_be_visible()
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.dataset.play === 'stale'"):
                break
        page.keyboard.press("Enter")
        page.wait_for_url(re.compile("/jobs/"))
        settled(page)
        expect(page.locator("#guide")).to_contain_text("1 of 4")
        for _ in range(25):
            before = page.locator("#log li").count()
            page.keyboard.press("Enter")
            expect(page.locator("#log li")).not_to_have_count(before)
            expect(page.locator("#step")).not_to_have_attribute("aria-busy", "true")
            if page.locator("#step-title", has_text="Closed and handed over").count():
                break
        expect(page.locator("#lesson")).to_contain_text("What was really wrong")
        expect(page.locator("#lesson")).to_contain_text("The right repair")
        job = page.url.rpartition("/")[2]
        assert [line["kind"] for line in log_of(base, job)][-1] == "closed"


def test_a_device_taken_in_and_answered_by_keys(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        page = opened(browser, f"{base}/intake")
        page.get_by_role("radio", name="touch", exact=True).first.focus()
        page.keyboard.press("Space")
        page.locator("#says").focus()
        page.keyboard.type("The lower edge does nothing")
        page.keyboard.press("Tab")
        page.locator("#ceiling").focus()
        page.keyboard.type("150")
        page.keyboard.press("Enter")
        page.wait_for_url(re.compile("/jobs/"))
        settled(page)
        expect(page.locator("#complaint")).to_contain_text("at most 150 EUR")
        expect(page.locator("#complaint")).to_contain_text("The lower edge does nothing")
        advised = page.locator("#step-title").inner_text()
        page.keyboard.press("s")
        expect(page.locator("#step-title")).not_to_have_text(advised)
        page.keyboard.press("b")
        expect(page.locator("#step-title")).to_have_text(advised)
        page.keyboard.press("Enter")  # marks an outcome, records nothing
        expect(page.locator("#step .outcome[aria-pressed=true]")).to_have_count(1)
        job = page.url.rpartition("/")[2]
        assert len(log_of(base, job)) == 1
        page.keyboard.press("Enter")
        expect(page.locator("#log li")).to_have_count(2)
        settled(page)
        page.locator(".last button").click()
        expect(page.locator("#log li")).to_have_count(3)
        expect(page.locator("#log .gone").first).to_be_visible()
        lines = log_of(base, job)
        assert lines[2]["supersedes"] == 2 and not lines[1]["stands"]


def test_a_key_that_is_held_down_records_once(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        page = opened(browser, f"{base}/jobs/{job}")
        settled(page)
        page.locator("#others summary").click()
        page.locator("#others .other", has_text="Check").first.click()
        page.evaluate(
            """() => { for (let times = 0; times < 9; times += 1) document.body.dispatchEvent(
                new KeyboardEvent("keydown", {key: "Enter", bubbles: true, repeat: times > 0}));
            }"""
        )
        expect(page.locator("#step .outcome[aria-pressed=true]")).to_have_count(1)
        assert len(log_of(base, job)) == 1


def test_two_windows_stay_in_step(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        one, other = (opened(browser, f"{base}/jobs/{job}") for _ in range(2))
        settled(one)
        settled(other)
        one.locator("[data-teach=note] summary").click()
        one.locator("#teach-note").fill("seen from one window")
        one.locator("[data-teach=note] button").click()
        expect(other.locator("#log")).to_contain_text("seen from one window")
        one.locator("[data-teach=pinout] summary").click()
        one.locator("#teach-pinout").fill("1 gnd\n2 CAM_SDA .452\n3 CAM_SCL .461")
        one.locator("[data-teach=pinout] button").click()
        expect(other.locator("#map connector-picture")).to_contain_text("CAM_SDA")
        one.locator("[data-teach=chain] summary").click()
        one.locator("#teach-chain").fill("J1.2 > R7 33R > U1.A4")
        one.locator("[data-teach=chain] button").click()
        expect(other.locator("#log li")).to_have_count(4)
        settled(other)
        assert one.locator("#step-title").inner_text() == other.locator("#step-title").inner_text()


def test_a_server_that_is_killed_in_a_job_loses_and_repeats_nothing(
    tmp_path: Path, browser: Browser
) -> None:
    port = free_port()
    with serving(tmp_path, port=port) as (process, base):
        job = started(base)
        page = opened(browser, f"{base}/jobs/{job}")
        settled(page)
        page.locator("[data-teach=note] summary").click()
        page.locator("#teach-note").fill("before")
        page.locator("[data-teach=note] button").click()
        expect(page.locator("#log li")).to_have_count(2)
        settled(page)
        process.kill()
        process.wait()
        expect(page.locator(".connection")).to_contain_text("Not connected")
        page.locator("#teach-note").fill("while the server was away")
        page.locator("[data-teach=note] button").click()
        expect(page.locator(".connection")).to_contain_text("1 entry is waiting")
    with serving(tmp_path, port=port) as (_, base):
        expect(page.locator("#log li")).to_have_count(3)
        expect(page.locator(".connection")).to_contain_text("all recorded")
        assert [line["said"] for line in log_of(base, job)[1:]] == [
            ["before"],
            ["while the server was away"],
        ]
        settled(page)
        page.reload()
        expect(page.locator("#log li")).to_have_count(3)


def test_a_reading_is_shown_large_and_the_sound_stays_as_set(
    tmp_path: Path, browser: Browser
) -> None:
    with serving(tmp_path) as (_, base):
        body = {"key": "intake-0001", "pack": "courier-handheld", "complaint": "imaging"}
        made = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=60).raise_for_status()
        job = made.json()["job"]
        page = opened(browser, f"{base}/jobs/{job}")
        settled(page)
        tones = page.get_by_role("button", name="Tones")
        expect(tones).to_have_attribute("aria-pressed", "false")
        tones.focus()
        page.keyboard.press("Enter")
        expect(tones).to_have_attribute("aria-pressed", "true")
        expect(page.locator("live-reading")).to_have_count(0)
        page.locator("#others summary").click()
        page.locator("#others [data-step='probe:IMG_DVDD:volts']").click()
        page.locator("#reading").fill("0.004")
        page.keyboard.press("Enter")
        shown = page.locator("live-reading")
        expect(shown.locator(".value")).to_have_text("0.004V")
        expect(shown).to_be_in_viewport(ratio=1)
        expect(shown.locator(".verdict")).to_have_text("near zero")
        expect(shown.locator(".source")).to_contain_text("1.198 ± 0.041")
        settled(page)
        page.reload()
        settled(page)
        expect(tones).to_have_attribute("aria-pressed", "true")
        expect(shown).to_have_count(0)


def test_the_first_load_is_small(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        context = browser.new_context()
        page = context.new_page()
        page.set_default_timeout(WAIT)
        sizes: list[int] = []
        page.on("requestfinished", lambda made: sizes.append(made.sizes()["responseBodySize"]))
        trouble: list[str] = []
        page.on("console", lambda said: trouble.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: trouble.append(str(error)))
        page.goto(f"{base}/jobs/{job}")
        settled(page)
        assert sum(sizes) <= 150_000
        assert not trouble
