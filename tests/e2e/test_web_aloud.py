"""Readings large and in words, in this window and the others; keys; a screen that stays on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from web_driving import Browser, Page, expect, settled
from web_pages import WAIT, serving

pytestmark = pytest.mark.slow
HEARD = """
window.heard = [];
window.played = 0;
window.awake = [];
const voice = { lang: "en-GB", localService: true, name: "made up" };
Object.defineProperty(window, "speechSynthesis", { value: {
  getVoices: () => [voice], addEventListener() {}, cancel() { window.heard.push("(stops)"); },
  speak(words) { window.heard.push(words.text); },
} });
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
window.AudioContext = class { constructor() { window.played += 1; throw new Error("a tone"); } };
Object.defineProperty(navigator, "wakeLock", { value: {
  request: async (what) => { window.awake.push(what); },
} });
"""


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with serving(tmp_path_factory.mktemp("jobs")) as (_, found):
        yield found


def taken_in(base: str, key: str) -> str:
    body = {"key": f"aloud-{key}", "pack": "courier-handheld", "complaint": "imaging"}
    made = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=WAIT / 1000).raise_for_status()
    return str(made.json()["job"])


def steps(base: str, job: str, kind: str) -> list[dict[str, Any]]:
    """Return the steps of a kind that are in the list of others."""
    address = f"{base}/api/v1/jobs/{job}/steps"
    found = httpx.get(address, params={"most": 300}, timeout=WAIT / 1000).raise_for_status()
    return [step for step in found.json()["steps"][2:] if step["kind"] == kind]


def opened(browser: Browser, address: str, width: int = 1280) -> Page:
    context = browser.new_context(viewport={"width": width, "height": 844})
    context.add_init_script(HEARD)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.goto(address)
    settled(page)
    return page


def choose(page: Page, step: str) -> None:
    page.locator("#others summary").click()
    page.locator(f"#others [data-step='{step}']").click()


def test_a_pin_typed_in_a_run_stands_in_the_other_window_before_it_is_recorded(
    browser: Browser, base: str
) -> None:
    job = taken_in(base, "run-0001")
    one, other = (opened(browser, f"{base}/jobs/{job}") for _ in range(2))
    run = next(each for each in steps(base, job, "run") if each["acts"][0]["mode"] == "diode")
    choose(one, run["id"])
    one.locator("#reading").fill("OL")
    one.keyboard.press("Enter")
    shown = other.locator("#now live-reading")
    expect(shown.locator(".value")).to_have_text("OL")
    expect(shown.locator(".point")).to_contain_text(run["how"][0])
    expect(one.locator(".run-now live-reading .value")).to_have_text("OL")
    one.locator("#reading").fill("0.001")
    one.keyboard.press("Enter")
    expect(shown.locator(".value")).to_have_text("0.001V")
    expect(shown.locator(".verdict")).to_have_text("low")
    expect(shown.locator(".point")).to_contain_text(run["how"][1])
    expect(other.locator("#log li")).to_have_count(1)


def test_the_voice_says_value_verdict_and_what_comes_next_once_it_is_turned_on(
    browser: Browser, base: str
) -> None:
    job = taken_in(base, "voice-0001")
    page = opened(browser, f"{base}/jobs/{job}")
    voice = page.get_by_role("button", name="Voice")
    expect(voice).to_have_attribute("aria-pressed", "false")
    first, second = steps(base, job, "reading")[:2]
    choose(page, first["id"])
    page.locator("#reading").fill("OL")
    page.keyboard.press("Enter")
    expect(page.locator("#now live-reading .value")).to_have_text("OL")
    settled(page)
    page.keyboard.press("r")
    assert page.evaluate("[heard, played]") == [[], 0]
    voice.click()
    choose(page, second["id"])
    page.keyboard.press("r")
    page.wait_for_timeout(50)
    assert page.evaluate("heard.at(-1)").startswith(page.locator("#step-title").inner_text()[:5])
    page.locator("#reading").fill("OL")
    page.keyboard.press("Enter")
    expect(page.locator("#log li")).to_have_count(3)
    settled(page)
    said = page.evaluate("heard.slice(-2)")
    assert "over-range" in said[0] and said[1].startswith("Next: "), said
    page.reload()
    settled(page)
    expect(page.get_by_role("button", name="Voice")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_role("button", name="Tones")).to_have_attribute("aria-pressed", "false")


def test_any_key_that_is_set_confirms_as_a_foot_switch_does(browser: Browser, base: str) -> None:
    page = opened(browser, f"{base}/jobs/{taken_in(base, 'foot-0001')}")
    advised = page.locator("#step-title").inner_text()
    page.locator(".legend-set summary").click()
    for name, key in (("skip", "F7"), ("back", "PageUp")):
        page.locator(".legend-choices .key", has_text=name).click()
        page.keyboard.press(key)
        expect(page.locator("#foot .legend")).to_contain_text(key)
    page.locator("#step-title").focus()
    page.keyboard.press("F7")
    expect(page.locator("#step-title")).not_to_have_text(advised)
    page.keyboard.press("PageUp")
    expect(page.locator("#step-title")).to_have_text(advised)


def test_the_screen_stays_on_and_again_after_it_was_hidden(browser: Browser, base: str) -> None:
    page = opened(browser, f"{base}/jobs/{taken_in(base, 'awake-0001')}")
    assert page.evaluate("awake") == ["screen"]
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert page.evaluate("awake") == ["screen", "screen"]


@pytest.mark.parametrize(("width", "least"), [(1280, 120), (390, 72)])
def test_a_reading_is_large_and_the_foot_is_small(
    browser: Browser, base: str, width: int, least: int
) -> None:
    job = taken_in(base, f"large-{width:04d}")
    page = opened(browser, f"{base}/jobs/{job}", width)
    choose(page, steps(base, job, "reading")[0]["id"])
    page.locator("#reading").fill("OL")
    page.keyboard.press("Enter")
    value = page.locator("#now live-reading .value")
    expect(value).to_be_in_viewport(ratio=1)
    assert value.evaluate("it => parseFloat(getComputedStyle(it).fontSize)") >= least
    assert page.evaluate("document.documentElement.scrollWidth") == width
    foot = page.locator("#foot").bounding_box()
    assert foot is not None and foot["height"] <= 60
    keys = page.locator("#foot button:visible, #foot summary:visible")
    sizes = [key.bounding_box() for key in keys.all()]
    assert len(sizes) >= 5
    assert all(size and size["height"] >= 44 and size["width"] >= 44 for size in sizes)
    if width == 390:
        page.locator(".foot-more").click()
        expect(page.get_by_role("button", name="Tones")).to_be_visible()
        expect(page.locator(".connection")).to_be_in_viewport(ratio=1)
