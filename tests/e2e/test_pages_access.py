"""Every page in both themes by the rules of WCAG 2.2 AA that axe-core can check; narrow pages."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from web_driving import Browser, Page, unfold
from web_pages import WAIT, missing, serving

pytestmark = pytest.mark.slow
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
NAMES = ["jobs", "intake", "bench", "run", "demo", "packs", "login", "no page"]
PLACES = (
    os.environ.get("NEXTPROBE_AXE", ""),
    str(Path.home() / ".cache/nextprobe-tests/node_modules/axe-core/axe.min.js"),
)


def axe() -> str:
    """Return the script of axe-core, which is fetched for tests and is no part of the project."""
    for place in PLACES:
        if place and Path(place).is_file():
            return Path(place).read_text("utf-8")
    missing("axe-core is missing: npm install --prefix ~/.cache/nextprobe-tests axe-core")
    return ""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    with (
        serving(tmp_path_factory.mktemp("jobs")) as (_, base),
        httpx.Client(base_url=f"{base}/api/v1", timeout=60) as client,
    ):
        pack = {"key": "real-00001", "pack": "courier-handheld", "complaint": "imaging"}
        demo = {"key": "demo-00001", "pack": "courier-handheld", "name": "stale"}
        real = client.post("/jobs", json=pack).raise_for_status().json()["job"]
        note = {"key": "note-00001", "text": "a remark"}
        client.post(f"/jobs/{real}/notes", json=note).raise_for_status()
        back = {"key": "back-00001", "event": 2}
        client.post(f"/jobs/{real}/withdrawals", json=back).raise_for_status()
        played = client.post("/play", json=demo).raise_for_status().json()["job"]
        yield {
            "jobs": f"{base}/",
            "intake": f"{base}/intake",
            "bench": f"{base}/jobs/{real}",
            "run": f"{base}/jobs/{real}",
            "demo": f"{base}/jobs/{played}",
            "packs": f"{base}/packs",
            "login": f"{base}/login",
            "no page": f"{base}/moon",
        }


def opened(browser: Browser, address: str, name: str, **more: Any) -> Page:
    page = browser.new_context(bypass_csp=True, reduced_motion="reduce", **more).new_page()
    page.set_default_timeout(WAIT)
    page.goto(address)
    page.wait_for_load_state("networkidle")
    if name == "run":
        page.locator("#others summary").click()
        page.locator("#others [data-step='run:J4']").click()
        page.locator("#reading").fill("0.314")
        page.locator("#reading").press("Enter")
        page.locator(".run-now live-reading").wait_for()
    unfold(page)
    return page


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(browser: Browser, pages: dict[str, str], name: str, theme: str) -> None:
    script = axe()
    page = opened(browser, pages[name], name, color_scheme=theme)
    page.evaluate(script)
    found = page.evaluate(
        "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})", RULES
    )
    said = [
        f"{rule['id']}: {node['html'][:160]} {node['failureSummary'][:240]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]
    assert not said, "\n".join(said)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [390, 320])
def test_nothing_sticks_out_where_the_page_is_narrow(
    browser: Browser, pages: dict[str, str], name: str, width: int
) -> None:
    # 640 px at 200 % leave 320 px for the layout (WCAG 2.2, 1.4.10).
    page = opened(browser, pages[name], name, viewport={"width": width, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
