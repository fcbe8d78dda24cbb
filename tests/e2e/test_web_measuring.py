"""A reading and a run: point and field at hand, how the leads go, what surprises would mean."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from web_driving import Browser, Page, entered, expect, opened, started
from web_pages import serving

pytestmark = pytest.mark.slow
SCREENS = {
    "wide": {"viewport": {"width": 1280, "height": 800}},
    "phone": {"viewport": {"width": 390, "height": 844}},
    # 1280 px by 800 px at 200 %.
    "twice": {"viewport": {"width": 640, "height": 400}},
}
PINS = [f"{pin} CAM_D{pin} .{450 + pin}" for pin in range(2, 14)]
VISIBLE = """element => {
  const { top, bottom } = element.getBoundingClientRect();
  return top >= 0 && bottom <= document.querySelector(".foot").getBoundingClientRect().top;
}"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with serving(tmp_path_factory.mktemp("jobs")) as (_, base):
        job = started(base, says="No picture since it got wet")
        text = "\n".join(["1 gnd", *PINS, "14 VDD_CAM .402"])
        entered(base, job, "pinouts", text=text, connector="J1")
        yield f"{base}/jobs/{job}"


def chosen(browser: Browser, address: str, step: str, **screen: Any) -> Page:
    """Open a job and choose a step by how its id begins."""
    page = opened(browser, address, **screen)
    if page.locator("#step .run-point").count() == 0:
        page.locator("#others summary").click()
    page.locator(f'#others [data-step^="{step}"]').first.click()
    page.locator(".expected").filter(has_text="Healthy").wait_for()
    return page


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("step", ["run:J1", "probe:J1."])
def test_point_and_field_are_on_the_first_screen(
    browser: Browser, address: str, step: str, screen: str
) -> None:
    page = chosen(browser, address, step, **SCREENS[screen])
    for each in (".run-point", "#reading"):
        assert page.locator(each).evaluate(VISIBLE), each
    expect(page.locator("#reading")).to_be_focused()
    page.context.close()


@pytest.mark.parametrize("screen", SCREENS)
def test_what_was_read_and_the_next_point_are_seen_at_once(
    browser: Browser, address: str, screen: str
) -> None:
    page = chosen(browser, address, "run:J1", **SCREENS[screen])
    page.locator("#reading").fill("0.120")
    page.locator("#reading").press("Enter")
    verdict = page.locator(".run-now live-reading .verdict")
    expect(verdict).to_contain_text("low")
    for each in (".run-point", "#reading", ".run-now live-reading .value"):
        assert page.locator(each).evaluate(VISIBLE), each
    assert verdict.evaluate(VISIBLE)
    page.context.close()


def test_the_map_follows_a_run_from_point_to_point(browser: Browser, address: str) -> None:
    page = chosen(browser, address, "run:J1")
    points = []
    for _ in range(2):
        point = re.match(r"[\w.]+", page.locator(".run-point").inner_text())
        assert point is not None
        points.append(point[0])
        expect(page.locator("board-map")).to_have_js_property("target", point[0])
        page.locator("#reading").fill("0.452")
        page.locator("#reading").press("Enter")
        expect(page.locator(".run-point")).not_to_contain_text(f"{point[0]},")
    assert points[0] != points[1]
    page.context.close()


def test_it_says_where_the_leads_go_and_what_is_expected(browser: Browser, address: str) -> None:
    page = chosen(browser, address, "run:J1")
    point = re.match(r"[\w.]+", page.locator(".run-point").inner_text())
    assert point is not None
    placing = page.locator("#step .placing")
    expect(placing).to_contain_text("Meter on diode test, battery unplugged. Red lead on ground")
    expect(placing).to_contain_text(f"black on {point[0]}.")
    expected = re.compile(r"Healthy: 0\.\d+\s±\s0\.\d+\sV; .+ counts as expected \(.+\)")
    expect(page.locator("#step .expected")).to_have_text(expected)
    page.locator("#reading").fill("0.452")
    page.locator("#reading").press("Enter")
    expect(placing).not_to_contain_text(f"black on {point[0]}.")
    page.context.close()


def test_surprises_are_gathered_by_pin_and_folded_with_a_count(
    browser: Browser, address: str
) -> None:
    page = chosen(browser, address, "run:J1")
    fork = page.locator("#step .fork")
    expect(fork.locator(".pin-points").first).to_be_visible()
    assert len([each for each in fork.locator(".meaning").all() if each.is_visible()]) <= 2
    pins = fork.locator(".pin-fold").count()
    expect(fork.locator(".pin-folds > .fold > summary").last).to_contain_text(
        f"{pins - 3} more pins"
    )
    first = fork.locator(".pin-fold").first
    first.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(first.locator(".meaning").first).to_be_visible()
    expect(first.locator(".moved").first).to_contain_text("→")
    # The summary tells the chance that any outcome of the pin comes, and is no smaller than one.
    shares = [
        float(text.replace("<", "").replace("%", ""))
        for text in first.locator(".figure").all_inner_texts()
        if re.fullmatch(r"<?[\s\d.]+%", text)
    ]
    assert shares[0] >= max(shares[1:2]) - 0.5
    page.context.close()
