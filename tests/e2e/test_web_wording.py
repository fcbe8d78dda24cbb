"""What stands on the pages: numbers keep their units, and complaints are sentences."""

from __future__ import annotations

import re
from collections.abc import Iterator

import httpx
import pytest
from web_driving import (
    Browser,
    Page,
    Route,
    asked,
    entered,
    expect,
    opened,
    settled,
    started,
    unfold,
)
from web_pages import serving

pytestmark = pytest.mark.slow
PHONE = {"viewport": {"width": 390, "height": 844}}
BROKEN = r"""() => {
  const unit = "(?:%|[A-Z]{3}|min|s|h|mm|[pnµmkMG]?[VΩFA])(?!\\w)";
  const number = new RegExp(`(?:(?:about|±|→|×)\\s)?[\\d.,]+\\s${unit}`, "g");
  const found = [];
  const look = (root) => {
    const texts = document.createTreeWalker(root, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    for (let node = texts.nextNode(); node; node = texts.nextNode()) {
      if (node.shadowRoot) look(node.shadowRoot);
      if (node.nodeType !== Node.TEXT_NODE) continue;
      for (const match of node.data.matchAll(number)) {
        const range = document.createRange();
        range.setStart(node, match.index);
        range.setEnd(node, match.index + match[0].length);
        const lines = new Set([...range.getClientRects()].map(({ top }) => Math.round(top)));
        found.push([match[0], lines.size]);
      }
    }
  };
  look(document.body);
  return found;
}"""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    with serving(tmp_path_factory.mktemp("jobs")) as (_, base):
        bare = started(base, says="No picture since it got wet", ceiling=150)
        pins = "1 gnd\n2 CAM_SDA .452\n3 CAM_SCL .461\n4 CAM_MCLK .512"
        entered(base, bare, "pinouts", text=pins, connector="J1")
        entered(base, bare, "readings", text="2 .4515\n4 .520", connector="J1", device="donor")
        entered(base, bare, "readings", text="2 .451\n4 .120", connector="J1")
        body = {"key": "demo-00001", "pack": "courier-handheld", "name": "stale"}
        demo = httpx.post(f"{base}/api/v1/play", json=body, timeout=60).json()["job"]
        yield {"jobs": f"{base}/", "bare": f"{base}/jobs/{bare}", "demo": f"{base}/jobs/{demo}"}


def unfolded(browser: Browser, address: str, **more: object) -> Page:
    page = opened(browser, address, **more)
    page.wait_for_load_state("networkidle")
    unfold(page, "body")
    return page


@pytest.mark.parametrize("name", ["bare", "demo"])
def test_a_number_stays_on_one_line_with_its_unit(
    browser: Browser, pages: dict[str, str], name: str
) -> None:
    page = unfolded(browser, pages[name], **PHONE)
    found = page.evaluate(BROKEN)
    assert len(found) > 20
    assert [text for text, lines in found if lines > 1] == []
    page.context.close()


def test_a_tiny_difference_is_said_in_words(browser: Browser, pages: dict[str, str]) -> None:
    page = unfolded(browser, pages["bare"])
    table = page.locator("#differences")
    expect(table.locator("tbody", has_text="J1.2")).to_contain_text("within the meter's error of")
    expect(table.locator("tbody", has_text="J1.4")).to_contain_text("times what good boards")
    assert not re.search(r"[-−]0(\.0+)?(?![\d.])", page.locator("main").inner_text())
    page.context.close()


def test_a_complaint_is_a_sentence(browser: Browser, pages: dict[str, str]) -> None:
    page = opened(browser, pages["jobs"])
    sentence = "imaging (parcel camera) does not work"
    expect(page.locator(".job-row", has_text="Satchel 3").locator("p").first).to_contain_text(
        sentence
    )
    page.goto(pages["demo"])
    expect(page.locator("#complaint")).to_contain_text(f"Satchel 3 · {sentence}")
    expect(page.locator("#log")).to_contain_text(f"Satchel 3: {sentence}")
    base, job = pages["demo"].split("/jobs/")
    line = next(each for each in asked(base, "/jobs")["jobs"] if each["job"] == job)
    assert (line["complaint"], line["complaint_title"]) == ("imaging", "imaging (parcel camera)")
    page.context.close()


def test_once_a_job_has_ended_nothing_is_asked_for_and_its_cost_stands(
    browser: Browser, pages: dict[str, str]
) -> None:
    base = pages["jobs"].rstrip("/")
    job = started(base, says="No picture")
    page = opened(browser, f"{base}/jobs/{job}")
    expect(page.locator("#teach .fold").first).to_be_visible()
    spent = asked(base, f"/jobs/{job}/quote")["quote"]["spent"]
    entered(base, job, "closing", ending="decline")
    expect(page.locator("#step-title")).to_have_text("Declined")
    expect(page.locator("#log li").first).to_contain_text("repair declined")
    expect(page.locator("#teach")).to_be_hidden()
    expect(page.locator("#handover .facts")).to_contain_text(f"Spent{spent:.2f}")
    page.context.close()


def test_a_step_that_takes_long_says_why(browser: Browser, pages: dict[str, str]) -> None:
    page = browser.new_context().new_page()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route(re.compile("/steps"), hold, times=1)
    page.goto(pages["bare"])
    expect(page.locator("#step .patience")).to_be_visible()
    held[0].continue_()
    settled(page)
    expect(page.locator("#step .patience")).to_have_count(0)
    page.context.close()


def test_a_job_that_has_ended_says_what_went_unchecked(
    browser: Browser, pages: dict[str, str]
) -> None:
    base = pages["jobs"].rstrip("/")
    job = started(base)
    entered(base, job, "closing", ending="close")
    page = unfolded(browser, f"{base}/jobs/{job}")
    handover = page.locator("#handover")
    expect(handover).to_contain_text("What was verified before it went")
    expect(handover).to_contain_text("since the last work nobody has checked")
    page.context.close()
