"""A rehearsal on the page of packs: watched, stopped, and its pictures under the page's policy."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from web_driving import Browser, Page, awaited, expect, opened, troubles
from web_pages import serving

pytestmark = pytest.mark.slow
PATIENCE = 240_000.0
BARE = "device: {name: Wicker 1}\nfunctions: {touch: {class: touch}}\n"
REFUSED = """document.addEventListener("securitypolicyviolation", (event) =>
  console.error(`refused: ${event.violatedDirective} ${event.blockedURI}`));"""


def packs_page(browser: Browser, base: str) -> tuple[Page, list[str]]:
    """Return the page of packs, and a list of what goes wrong or is refused on it."""
    page = opened(browser, "about:blank")
    page.add_init_script(REFUSED)
    wrong = troubles(page)
    page.goto(f"{base}/packs")
    return page, wrong


def started(page: Page, name: str, devices: int) -> None:
    pack = page.locator(f'[data-pack="{name}"]')
    pack.locator("[data-rehearsal] summary").click()
    pack.get_by_label("Simulated devices").fill(str(devices))
    pack.get_by_label("Which function fails").select_option("touch")
    pack.get_by_role("button", name="Start").click()


def test_a_rehearsal_shows_how_far_it_is_and_then_its_pictures(
    tmp_path: Path, browser: Browser
) -> None:
    pack = tmp_path / "packs" / "bare"
    pack.mkdir(parents=True)
    (pack / "device.yaml").write_text(BARE)
    with serving(tmp_path, patience=600.0) as (_, base):
        page, wrong = packs_page(browser, base)
        started(page, "bare", 2)
        state = page.locator("[data-pack=bare] [data-state]")
        expect(state).to_contain_text(re.compile("order [0-9]+ of at most 60, on device [0-9]+"))
        expect(state.locator("progress")).to_have_attribute("max", "60")
        expect(page.locator(".plots")).to_be_visible(timeout=PATIENCE)
        expect(state).to_contain_text(re.compile("^2 devices are played"))
        expect(state.locator("progress")).to_have_attribute("max", "2")
        expect(state.locator("progress")).to_have_attribute("value", "2")
        expect(page.get_by_role("button", name=re.compile("Stop it"))).to_have_count(0)
        plots = page.locator(".plots img")
        expect(plots.first).to_be_visible()
        assert plots.count() >= 2
        for each in plots.all():
            each.scroll_into_view_if_needed()
            handle = each.element_handle()
            awaited(page, "image => image.complete && image.naturalWidth > 0", handle)
            assert (each.get_attribute("alt") or "").strip()
        expect(page.locator("[aria-label='Figures of the rehearsal'] tbody tr")).not_to_have_count(
            0
        )
        expect(page.get_by_role("row", name=re.compile(r"the trade's order\s\d"))).to_contain_text(
            "of 2"
        )
        page.reload()
        page.locator('[data-pack="bare"] [data-rehearsal] summary').click()
        expect(page.locator(".plots img")).to_have_count(plots.count())
        assert not wrong


def test_a_rehearsal_is_stopped_and_shows_what_was_played(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path, patience=600.0) as (_, base):
        page, wrong = packs_page(browser, base)
        started(page, "ferry-terminal", 500)
        stop = page.get_by_role("button", name=re.compile("Stop it"))
        stop.click()
        state = page.locator("[data-rehearsal] [data-state]").filter(has_text="devices")
        expect(state).to_contain_text(
            re.compile(r"Stopped after \d+ of 500 devices"), timeout=PATIENCE
        )
        expect(stop).to_have_count(0)
        assert not wrong
