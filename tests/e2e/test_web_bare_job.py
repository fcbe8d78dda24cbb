"""A job from nothing but a complaint: a pasted pinout, a donor, the patient, a chain; by keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from web_driving import (
    Browser,
    Hands,
    asked,
    expect,
    job_of,
    opened,
    said_in,
    settled,
    troubles,
)
from web_pages import serving

pytestmark = pytest.mark.slow
CELLS = [
    ("Pin", "Net", "Good"),
    ("1", "GND", ""),
    ("2", "VDD_CAM", "0.512"),
    ("3", "CAM_SDA", ""),
    ("4", "CAM_SCL", ""),
    ("5", "CSI_D0_P", ""),
    ("6", "CSI_D0_N", ""),
    ("7", "CSI_D1_P", ""),
    ("8", "CSI_D1_N", ""),
]
DONOR = {"2": ".512", "3": ".452", "4": ".455", "5": ".410", "6": ".412", "7": ".409", "8": ".411"}
PATIENT = {
    "J1.2": ".510",
    "J1.3": ".450",
    "J1.4": ".456",
    "J1.5": ".409",
    "J1.6": ".232",
    "J1.7": ".411",
    "J1.8": "OL",
}


def unfolded(hands: Hands, name: str) -> None:
    """Open one of the ways to say what one knows, and go to its field."""
    hands.reach(f"[data-teach={name}] summary")
    hands.press("Enter")
    hands.reach(f"#teach-{name}")


def taken_in(hands: Hands) -> str:
    hands.choose("source", "bare:")
    hands.choose("template", "camera")
    hands.write("#device", "Brindle 4")
    hands.write("#says", "No picture since it got wet")
    hands.tick("history", "liquid")
    hands.reach("#intake .key.main")
    hands.press("Enter")
    return job_of(hands.page)


def recorded(hands: Hands, name: str) -> None:
    hands.reach(f"[data-teach={name}] .key")
    entries = hands.page.locator("#log li.entry")
    before = entries.count()
    hands.press("Enter")
    expect(entries).to_have_count(before + 1)
    settled(hands.page)


def pinned(hands: Hands) -> None:
    """Paste the cells of a spreadsheet as the pinout."""
    text = "\n".join("\t".join(row) for row in CELLS)
    hands.page.evaluate("text => navigator.clipboard.writeText(text)", text)
    unfolded(hands, "pinout")
    hands.press("Control+v")
    recorded(hands, "pinout")


def compared(hands: Hands) -> None:
    """Read the donor, then the patient pin by pin in a run."""
    unfolded(hands, "donor")
    hands.type("\n".join(f"{pin} {value}" for pin, value in DONOR.items()))
    recorded(hands, "donor")
    hands.reach("#others summary")
    hands.press("Enter")
    hands.reach('#others [data-step="run:J1"]')
    hands.press("Enter")
    entries = hands.page.locator("#log li.entry")
    before = entries.count()
    for pin, value in PATIENT.items():
        expect(hands.page.locator(".run-point")).to_contain_text(f"{pin},")
        hands.type(value)
        hands.press("Enter")
    expect(hands.page.locator(".run-point")).to_contain_text("All pins are read")
    hands.press("Enter")
    expect(entries).to_have_count(before + 1)
    settled(hands.page)


def test_a_job_from_a_complaint_to_the_part_that_leaks(tmp_path: Path, browser: Browser) -> None:
    with serving(tmp_path) as (_, base):
        page = opened(browser, f"{base}/intake", permissions=["clipboard-read", "clipboard-write"])
        wrong = troubles(page)
        hands = Hands(page)
        job = taken_in(hands)
        settled(page)
        expect(page.locator("#complaint")).to_contain_text("before: liquid")
        expect(page.locator("#map")).to_contain_text("No board is known yet")

        pinned(hands)
        expect(page.locator("connector-picture")).to_contain_text("CSI_D0_N")
        board = asked(base, f"/jobs/{job}/board")
        names = [board["nets"][net]["name"] for net in board["pads"]["net"]]
        assert dict(zip(board["pads"]["pin"], names, strict=True)).items() >= {
            (f"J1.{pin}", net) for pin, net, _ in CELLS[1:]
        }

        compared(hands)
        said = said_in(base, job)[-1]
        assert all(
            f"{pin} reads 0{value} V" in said for pin, value in PATIENT.items() if value != "OL"
        )
        rows = page.locator("#differences tbody")
        expect(rows).to_have_count(len(PATIENT))
        assert rows.locator("th").all_inner_texts()[:2] == ["J1.8", "J1.6"]
        scores = [
            abs(row["score"]) for row in asked(base, f"/jobs/{job}/differences")["differences"]
        ]
        assert scores == sorted(scores, reverse=True) and scores[1] > 5.0 and scores[2] < 1.0
        expect(rows.nth(1)).to_contain_text("0.232 V")
        expect(rows.nth(1)).to_contain_text("0.412 V donor board in this job")

        expect(page.locator("#suspects")).not_to_contain_text("D3")
        unfolded(hands, "chain")
        hands.type("J1.6 > R7 33R > U1.A4\nJ1.6 > D3 tvs > GND")
        recorded(hands, "chain")
        expect(page.locator("#map")).to_contain_text("5 parts, 9 nets")
        pads = page.locator("pad-list")
        hands.reach("#map details summary")
        hands.press("Enter")
        hands.write("input[type=search][aria-label='Search the pads']", "D3")
        expect(pads.get_by_role("button", name="D3.1", exact=True)).to_be_visible()
        expect(pads.get_by_role("status")).to_have_text("2 pads")
        expect(page.locator("#suspects details").first).to_contain_text("D3 leaky")
        expect(page.locator("#step-title")).to_contain_text("D3")
        assert not wrong
