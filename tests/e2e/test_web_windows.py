"""Several windows on one job stay in step: corrections, withdrawals, and after a sleep."""

from __future__ import annotations

from pathlib import Path

import pytest
from web_driving import (
    Browser,
    Page,
    entered,
    expect,
    log_of,
    opened,
    said_in,
    settled,
    started,
)
from web_line import lined
from web_pages import serving

pytestmark = pytest.mark.slow
PINOUT = "1 gnd\n2 CAM_SDA .452\n3 CAM_SCL .461\n4 CAM_CLK .500"


def known(base: str) -> str:
    """Return a job with a connector and one reading that is off."""
    job = started(base)
    entered(base, job, "pinouts", text=PINOUT, connector="J1")
    entered(base, job, "readings", text="J1.2 0.120", connector="J1")
    return job


def amended(page: Page, event: int) -> None:
    page.locator(f'#log [data-event="{event}"] summary').click()


def shown(page: Page, entries: int) -> dict[str, str]:
    """Return what a window shows once it has so many entries."""
    expect(page.locator("#log li.entry")).to_have_count(entries)
    settled(page)
    return {
        "step": page.locator("#step-title").inner_text(),
        "suspects": page.locator("#suspects .suspects").inner_text(),
        "log": "\n".join(page.locator("#log li.entry > p").all_inner_texts()),
    }


def in_step(entries: int, *pages: Page) -> dict[str, str]:
    """Wait until windows show the same of a job with so many entries."""
    first, *others = pages
    for other in others:
        expect(other.locator("#log li.entry")).to_have_count(entries)
        settled(other)
    found = shown(first, entries)
    for other in others:
        expect(other.locator("#step-title")).to_have_text(found["step"])
        assert shown(other, entries) == found
    return found


def test_a_correction_and_a_withdrawal_reach_the_other_window(
    tmp_path: Path, browser: Browser
) -> None:
    with serving(tmp_path) as (_, base):
        job = known(base)
        one, other = (opened(browser, f"{base}/jobs/{job}") for _ in range(2))
        before = in_step(3, one, other)
        assert "J1.2 reads 0.120\u00a0V" in before["log"]

        amended(other, 3)
        other.get_by_label("What entry 3 should have said").fill("0.450")
        other.get_by_role("button", name="Correct").click()
        corrected = in_step(4, one, other)
        assert "J1.2 reads 0.450\u00a0V" in corrected["log"]
        expect(one.locator('#log [data-event="3"] s')).to_have_text("J1.2 reads 0.120 V (diode)")
        assert corrected["suspects"] != before["suspects"]

        entered(base, job, "readings", text="J1.4 0.010", connector="J1")
        wrong = in_step(5, one, other)
        one.locator(".last button").click()
        withdrawn = in_step(6, one, other)
        assert withdrawn["suspects"] == corrected["suspects"] != wrong["suspects"]
        assert said_in(base, job)[1:2] == ["J1.2 reads 0.450 V (diode)"]
        assert [line["stands"] for line in log_of(base, job)][2:5] == [False, True, False]


def test_a_window_that_was_frozen_catches_up(tmp_path: Path, browser: Browser) -> None:
    with (
        serving(tmp_path, "--name", "127.0.0.1") as (_, base),
        lined(base) as (line, address),
    ):
        job = known(base)
        one, other = opened(browser, f"{address}/jobs/{job}"), opened(browser, f"{base}/jobs/{job}")
        in_step(3, one, other)
        life = one.context.new_cdp_session(one)
        life.send("Page.setWebLifecycleState", {"state": "frozen"})
        line.cut()
        amended(other, 3)
        other.get_by_label("What entry 3 should have said").fill("0.450")
        other.get_by_role("button", name="Correct").click()
        shown(other, 4)
        line.mend()
        life.send("Page.setWebLifecycleState", {"state": "active"})
        found = in_step(4, one, other)
        assert found["log"].count("J1.2 reads 0.450\u00a0V") == 1


def test_a_channel_that_died_in_a_sleep_is_opened_anew(tmp_path: Path, browser: Browser) -> None:
    with (
        serving(tmp_path, "--name", "127.0.0.1") as (_, base),
        lined(base) as (line, address),
    ):
        job = known(base)
        page = opened(browser, f"{address}/jobs/{job}")
        shown(page, 3)
        asleep(page, hidden=True)
        line.lose_channels()
        entered(base, job, "notes", text="while it slept")
        page.wait_for_timeout(1500)
        expect(page.locator("#log li.entry")).to_have_count(3)
        asleep(page, hidden=False, later=60_000)
        expect(page.locator("#log li.entry")).to_have_count(4)
        expect(page.locator("#log")).to_contain_text("while it slept")
        entered(base, job, "notes", text="and afterwards")
        expect(page.locator("#log li.entry")).to_have_count(5)


def asleep(page: Page, *, hidden: bool, later: int = 0) -> None:
    """Let a window be hidden or seen, some time later [ms], as a machine that wakes does."""
    page.evaluate(
        """([hidden, later]) => {
          const now = Date.now.bind(Date);
          Date.now = () => now() + later;
          Object.defineProperty(document, "hidden", { configurable: true, get: () => hidden });
          document.dispatchEvent(new Event("visibilitychange"));
        }""",
        [hidden, later],
    )


def test_a_window_that_is_opened_later_shows_the_same(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        job = known(base)
        one = opened(browser, f"{base}/jobs/{job}")
        shown(one, 3)
        one.locator(".last button").click()
        shown(one, 4)
        later = opened(browser, f"{base}/jobs/{job}")
        found = in_step(4, one, later)
        assert "J1.2 reads 0.120\u00a0V" in found["log"]
        expect(later.locator('#log [data-event="3"]')).to_contain_text("no longer counts")
