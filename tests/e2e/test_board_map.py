"""The pictures of the bench in a browser: by hand, by keys, and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest
from browser import browser, new_page, pages, require_browser
from made_board import made_board

BOARD = made_board()
PADS = BOARD["pads"]
FIRST_BACK = PADS["side"].index("back")
NARROW = 390
CAPITALS_AT_TWO_METRES = 48
"""Height of capitals [px] that two metres ask for; see theme.css."""
CAPITAL = 0.7
"""Of a capital against the size of its letters, at least, in the fonts of the theme [1]."""

EDGES = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 2.0]


def expectation(healthy: Any, read: list[Any], verdict: str) -> dict[str, Any]:
    over = healthy == "over-range"
    chances = [0.0 if over else 1 / 9] * 9
    return {
        "expected": {
            "point": "", "net": "", "role": "lane", "mode": "diode", "healthy": healthy,
            "deviation": 0.01, "low": 2.0 if over else healthy - 0.03,
            "high": 2.0 if over else healthy + 0.03, "source": "three good boards", "read": read,
            "verdict": verdict,
            "suspects": [
                {"key": "short:D1", "title": "D1 short", "probability": 0.2, "values": [0.002]}
            ],
        },
        "spread": {
            "edges": EDGES, "chances": chances, "healthy": chances,
            "over_range": 1.0 if over else 0.0, "healthy_over_range": 1.0 if over else 0.0,
        },
    }  # fmt: skip


def connector() -> dict[str, Any]:
    shown = {
        "1": expectation(0.452, [0.449], "as expected"),
        "2": expectation(0.612, [0.6, 0.12], "low"),
        "3": expectation(0.452, ["over-range"], "over-range"),
        "4": expectation("over-range", [], ""),
        "5": None,
    }
    pins = [
        {
            "pin": str(pin),
            "point": f"J1.{pin}",
            "net": f"N{pin}",
            "expectation": shown.get(str(pin)),
        }
        for pin in range(1, 49)
    ]
    return {"job": "a", "version": 1, "reference": "J1", "mode": "diode", "pins": pins}


def placeless() -> dict[str, Any]:
    nowhere = [None] * len(PADS["pin"])
    without = dict.fromkeys(("x", "y", "width", "height", "rotation", "side"), nowhere)
    return {**BOARD, "has_places": False, "outline": [], "pads": {**PADS, **without}}


SCRIPT = """
import "/static/board-map.js";
import "/static/pad-list.js";
import "/static/connector-picture.js";
import "/static/live-reading.js";
import { playTone, tones, tonesKey } from "/static/tones.js";
import { say, spoken, voiceKey } from "/static/voice.js";
Object.assign(window, {playTone, tones, say, spoken});
const [map, list, picture, live] = ["board-map", "pad-list", "connector-picture", "live-reading"]
  .map((name) => document.querySelector(name));
Object.assign(window, {map, list, picture, live, chosen: []});
for (const event of ["pad-chosen", "pin-chosen"]) {
  document.addEventListener(event, ({detail}) => window.chosen.push(detail));
}
map.style.height = "700px";
const board = await (await fetch("/board")).json();
window.show = () => { map.board = board; list.board = board; };
show();
picture.board = board;
picture.connector = await (await fetch("/connector")).json();
document.body.append(tonesKey(), voiceKey());
window.suspect = (chances) => {
  const all = new Float32Array(board.pads.pin.length);
  for (const [pin, chance] of Object.entries(chances)) all[board.pads.pin.indexOf(pin)] = chance;
  map.suspicion = list.suspicion = all;
};
window.frames = async () => {
  for (let i = 0; i < 3; i += 1) await new Promise(requestAnimationFrame);
};
window.inPin = (pin, part) => picture.shadowRoot.querySelector(`[data-pin="J1.${pin}"] ${part}`);
window.colourAt = async (x, y) => {
  await frames();
  const canvas = map.shadowRoot.querySelector("canvas");
  const ratio = canvas.width / canvas.clientWidth;
  return [...canvas.getContext("2d").getImageData(x * ratio, y * ratio, 1, 1).data.slice(0, 3)];
};
window.placeless = async () => { map.board = await (await fetch("/placeless")).json(); };
document.body.dataset.ready = "yes";
"""
BODY = (
    "<body><board-map></board-map><pad-list></pad-list><connector-picture></connector-picture>"
    '<live-reading></live-reading><script type="module" src="/pictures.js"></script>'
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    require_browser()
    data = {
        "board": BOARD,
        "placeless": placeless(),
        "connector": connector(),
        "pictures.js": SCRIPT,
    }
    with pages({"pictures": BODY}, data) as base:
        yield f"{base}/pictures"


@pytest.fixture(scope="module")
def window(address: str) -> Iterator[Any]:
    with browser() as page:
        yield page


@pytest.fixture
def page(window: Any, address: str) -> Iterator[Any]:
    opened(window, address)
    yield window
    assert window.troubles == []


def opened(page: Any, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("body[data-ready]")


def canvas(page: Any) -> Any:
    return page.locator("board-map canvas")


def place(page: Any, pad: int) -> tuple[float, float]:
    """Return where a pad is on the canvas [px], from the whole board's fitting in it."""
    box = canvas(page).bounding_box()
    scale = min((box["width"] - 56) / 140.0, (box["height"] - 56) / 80.0)
    mirror = -1 if page.evaluate("map.face") == "back" else 1
    x = box["width"] / 2 + mirror * (1e3 * PADS["x"][pad] - 70.0) * scale
    return x, box["height"] / 2 + (1e3 * PADS["y"][pad] - 40.0) * scale


def touch(page: Any, pad: int) -> None:
    x, y = place(page, pad)
    canvas(page).click(position={"x": x, "y": y})


def test_touching_a_pad_chooses_it_on_both_sides(page: Any) -> None:
    front, back = PADS["pin"].index("U12.3"), PADS["pin"].index("U77.9")
    assert PADS["side"][front] == "front" and PADS["side"][back] == "back"
    touch(page, front)
    page.get_by_role("button", name="Turn the board over").click()
    touch(page, back)
    assert [each["pin"] for each in page.evaluate("chosen")] == ["U12.3", "U77.9"]
    net = BOARD["nets"][PADS["net"][back]]
    said = page.locator("board-map .said").inner_text()
    assert said.startswith(f"U77.9: net {net['name']}, {net['role']}") and "back" in said


def test_what_is_touched_does_not_take_the_foot_switch_away(page: Any) -> None:
    page.evaluate("document.addEventListener('keydown', ({target}) => chosen.push(target.tagName))")
    touch(page, PADS["pin"].index("U12.3"))
    page.get_by_role("button", name="Larger").click()
    page.locator("connector-picture [data-pin='J1.4'] .number").click()
    page.locator("pad-list tbody button").first.click()
    page.evaluate("chosen.length = 0")
    page.keyboard.press("Enter")
    assert page.evaluate("chosen") == ["BODY"]
    canvas(page).focus()
    page.keyboard.press("Escape")
    page.keyboard.press("s")
    assert page.evaluate("chosen") == ["BODY", "BOARD-MAP", "BODY"]
    assert page.evaluate("map.face") == "front"


def test_suspicion_is_painted_where_it_lies_and_only_there(page: Any) -> None:
    pad, other = PADS["pin"].index("R300.1"), PADS["pin"].index("R600.1")
    before = page.evaluate("([x, y]) => colourAt(x, y)", place(page, pad))
    calm = page.evaluate("([x, y]) => colourAt(x, y)", place(page, other))
    found = [before]
    for chance in (0.01, 0.03, 0.1, 0.3, 0.6):
        page.evaluate("chance => suspect({'R300.1': chance})", chance)
        found.append(page.evaluate("([x, y]) => colourAt(x, y)", place(page, pad)))
    assert len({tuple(each) for each in found}) == 6
    assert page.evaluate("([x, y]) => colourAt(x, y)", place(page, other)) == calm
    page.evaluate("map.chosen = 'R300.1'")
    assert "strongest suspicion, 60\u00a0%" in page.locator("board-map .said").inner_text()


def test_it_can_be_walked_by_keys_alone(page: Any) -> None:
    canvas(page).focus()
    page.keyboard.press("f")
    page.keyboard.type("j3.11")
    page.keyboard.press("Enter")
    assert page.evaluate("map.chosen") == "J3.11"
    page.keyboard.press("ArrowRight")
    assert page.evaluate("map.chosen") == "J3.13"
    page.keyboard.press("ArrowDown")
    assert page.evaluate("map.chosen") == "J3.14"
    page.keyboard.press("Enter")
    assert page.evaluate("chosen.map(each => each.pin)") == ["J3.14"]
    page.keyboard.press("s")
    assert "back" in canvas(page).get_attribute("aria-label")
    page.keyboard.press("f")
    page.keyboard.type("nowhere")
    page.keyboard.press("Enter")
    assert "Nothing on this board" in page.locator("board-map .said").inner_text()


def test_on_the_back_right_is_where_the_eye_sees_it(page: Any) -> None:
    pin = "J13.11"
    page.evaluate("pin => { map.chosen = pin; }", pin)
    assert page.evaluate("map.face") == "back"
    canvas(page).focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("map.chosen") == "J13.9"


def test_the_pad_to_probe_is_brought_into_view(page: Any) -> None:
    pin = PADS["pin"][FIRST_BACK]
    page.evaluate("pin => { map.target = list.target = pin; }", pin)
    assert page.evaluate("map.face") == "back"
    assert f"probe {pin} now" in canvas(page).get_attribute("aria-label")
    x, y = place(page, FIRST_BACK)
    ring = page.evaluate("([x, y]) => colourAt(x, y)", [x + 26, y])
    page.evaluate("map.target = null")
    assert page.evaluate("([x, y]) => colourAt(x, y)", [x + 26, y]) != ring


def test_heat_reaches_what_lies_within_its_radius(page: Any) -> None:
    page.evaluate("map.heat = {at: 'U23', radius: 0.006}")
    own = [pad for pad, pin in enumerate(PADS["pin"]) if pin.startswith("U23.")]
    x = sum(PADS["x"][pad] for pad in own) / len(own)
    y = sum(PADS["y"][pad] for pad in own) / len(own)
    reached = set()
    for part in BOARD["parts"]:
        (left, top), _, (right, bottom), _ = part["outline"]
        far = math.hypot(max(left - x, 0, x - right), max(top - y, 0, y - bottom))
        if part["side"] == "front" and far < 0.006:
            reached.add(part["reference"])
    assert len(reached) > 10
    assert set(page.evaluate("map.heated")) == reached
    said = page.locator("board-map .heat").inner_text()
    assert said.startswith("Heat at U23 reaches 6.0\u00a0mm: ")
    assert set(said.rstrip(".").partition(": ")[2].split(", ")) == reached
    page.evaluate("map.heat = {at: 'U23', radius: 0.006, parts: ['U24', 'R300']}")
    assert page.evaluate("map.heated") == ["U24", "R300"]
    page.evaluate("map.heat = null")
    assert not page.locator("board-map .heat").is_visible()


def test_what_was_seen_at_a_place_is_said_there(page: Any) -> None:
    marks = [
        {"at": "U12.3", "kind": "reading", "verdict": "differs", "text": "0.120 V, low"},
        {"at": "U12", "kind": "photo", "text": "a scratch"},
        {"at": "U13", "kind": "photo", "text": "elsewhere"},
    ]
    x, y = place(page, PADS["pin"].index("U12.3"))
    calm = page.evaluate("([x, y]) => colourAt(x, y)", [x - 7, y - 25])
    page.evaluate("marks => { map.marks = marks; map.chosen = 'U12.3'; }", marks)
    said = page.locator("board-map .said").inner_text()
    assert said.endswith("reading: 0.120 V, low; photo: a scratch")
    assert page.evaluate("([x, y]) => colourAt(x, y)", [x - 7, y - 25]) != calm


def test_the_wheel_magnifies_about_the_pointer(page: Any) -> None:
    pad = PADS["pin"].index("U12.3")
    x, y = place(page, pad)
    box = canvas(page).bounding_box()
    page.mouse.move(box["x"] + x, box["y"] + y)
    page.mouse.wheel(0, -600)
    page.evaluate("frames()")
    canvas(page).click(position={"x": x, "y": y})
    page.mouse.move(box["x"] + x, box["y"] + y)
    page.mouse.down()
    page.mouse.move(box["x"] + x + 90, box["y"] + y - 40, steps=4)
    page.mouse.up()
    canvas(page).click(position={"x": x + 90, "y": y - 40})
    assert page.evaluate("chosen.map(each => each.pin)") == ["U12.3", "U12.3"]


def test_two_fingers_magnify(page: Any) -> None:
    pad = PADS["pin"].index("U12.3")
    x, y = place(page, pad)
    box = canvas(page).bounding_box()
    fingers = page.context.new_cdp_session(page)

    def touched(kind: str, *far: float) -> None:
        points = [
            {"x": box["x"] + x + each, "y": box["y"] + y, "id": i} for i, each in enumerate(far)
        ]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touched("touchStart", 0.0, 40.0)
    for step in range(1, 6):
        touched("touchMove", 0.0, 40.0 + 40.0 * step)
    touched("touchEnd")
    assert page.evaluate("chosen") == []
    canvas(page).click(position={"x": x, "y": y})
    assert page.evaluate("chosen[0].pin") == "U12.3"
    neighbour = PADS["pin"].index("U12.4")
    wide = place(page, neighbour)[1] - y
    canvas(page).click(position={"x": x, "y": y + 6 * wide})
    assert page.evaluate("chosen[1].pin") == "U12.4"


def test_the_list_says_the_same_as_the_map(page: Any) -> None:
    page.evaluate("suspect({'R300.1': 0.31, 'U77.9': 0.12}); list.target = 'U77.9'")
    rows = page.locator("pad-list tbody tr")
    rows.first.get_by_text("R300.1").wait_for()
    assert "strong suspicion, 31\u00a0%" in rows.nth(0).inner_text()
    assert "probe this now" in rows.nth(1).inner_text()
    assert page.locator("pad-list [role=status]").inner_text() == "8000 pads"
    page.locator("pad-list input").fill("tp7")
    page.get_by_role("button", name="TP7.1", exact=True).wait_for()
    assert rows.first.inner_text().startswith("TP7.1")
    page.get_by_role("button", name="TP7.1", exact=True).click()
    assert page.evaluate("chosen[0].pin") == "TP7.1"
    page.locator("pad-list input").fill("ground connector")
    grounds = sum(
        BOARD["nets"][net]["role"] == "ground" and BOARD["parts"][part]["kind"] == "connector"
        for net, part in zip(PADS["net"], PADS["part"], strict=True)
    )
    page.get_by_text(f"{grounds} pads").wait_for()


def test_places_that_nobody_knows_are_not_pretended(page: Any) -> None:
    page.evaluate("placeless()")
    page.get_by_text("nobody has said where they are").wait_for()
    page.evaluate("map.heat = {at: 'U23', radius: 0.006}; map.chosen = 'U77.9'")
    assert page.evaluate("map.heated") == []
    assert page.evaluate("map.chosen") == "U77.9"
    page.evaluate("map.board = null; map.suspicion = null; frames()")
    page.get_by_text("No board is known yet").wait_for()


def test_numbers_for_another_board_harm_nothing(page: Any) -> None:
    page.evaluate("map.suspicion = new Float32Array([0.5, NaN, 2]); frames()")
    page.evaluate("map.suspicion = new Float32Array(20000).fill(0.9); frames()")
    page.evaluate("map.target = 'gone'; map.heat = {at: 'gone', radius: 1}; frames()")
    page.evaluate("map.marks = [{at: 'gone', kind: 'photo', text: ''}]; frames()")


def test_a_connector_stands_in_its_two_rows(page: Any) -> None:
    pins = page.evaluate(
        "[...picture.shadowRoot.querySelectorAll('[data-pin]')].map(pin => {"
        " const {x, y} = pin.querySelector('.plate').getBoundingClientRect();"
        " return [pin.dataset.pin, Math.round(x), Math.round(y)]; })"
    )
    rows = {y for _, _, y in pins}
    assert len(rows) == 2
    upper = [pin for pin, _, y in sorted(pins, key=lambda each: each[1]) if y == min(rows)]
    assert upper == [f"J1.{pin}" for pin in range(1, 49, 2)]
    labels = {
        pin: page.locator(f"connector-picture [data-pin='J1.{pin}']").get_attribute("aria-label")
        for pin in (1, 2, 3, 4, 5)
    }
    assert labels[1] == "J1.1, N1: 0.449\u00a0V: as expected; expected 0.452 ±\u00a00.010\u00a0V"
    assert labels[2].startswith("J1.2, N2: 0.600\u00a0V, then 0.120\u00a0V: low")
    assert labels[3].startswith("J1.3, N3: OL: over-range")
    assert labels[4] == "J1.4, N4: not read yet; expected over-range (OL)"
    assert labels[5] == "J1.5, N5: nothing is predicted"


def test_verdicts_have_a_shape_each(page: Any) -> None:
    shapes = page.evaluate("[1, 2, 3].map(pin => inPin(pin, '.shape path').getAttribute('d'))")
    assert len(set(shapes)) == 3
    over, lane = page.evaluate(
        "['.read', '.lane'].map(part => inPin(3, part).getBoundingClientRect())"
        ".map(box => [box.top, box.bottom])"
    )
    assert lane[0] <= over[0] <= over[1] <= lane[1]


def test_a_reading_stands_at_its_value(page: Any) -> None:
    heights = page.evaluate(
        "[1, 2].map(pin => ['.line', '.read'].map(part => inPin(pin, part)))"
        ".map(pair => pair.map(each => each.getBoundingClientRect()))"
        ".map(([line, read]) => line.bottom - (read.top + read.bottom) / 2)"
    )
    assert heights[0] / heights[1] == pytest.approx(0.449 / 0.12, rel=0.02)


def test_pins_can_be_walked_by_keys_and_read_as_a_table(page: Any) -> None:
    page.locator("connector-picture [role=listbox]").focus()
    page.evaluate("picture.chosen = 'J1.1'")
    for key in ("ArrowRight", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    assert page.evaluate("chosen") == [{"pin": "J1.4"}]
    assert "over-range (OL)" in page.locator("connector-picture .details").inner_text()
    page.get_by_text("The same as a table").click()
    row = page.locator("connector-picture tbody tr").nth(1).inner_text()
    assert "0.120\u00a0V" in row and "low" in row and "0.612 ±\u00a00.010\u00a0V" in row


def test_a_reading_can_be_read_from_two_metres(page: Any) -> None:
    reading = {
        "point": "J4.3", "value": 0.12, "mode": "diode", "verdict": "differs", "word": "low",
        "deviation": 0.004, "low": 0.601, "high": 0.715, "source": "two good boards",
    }  # fmt: skip
    page.evaluate("reading => { live.reading = reading; }", reading)
    for width in (1280, NARROW, 320):
        page.set_viewport_size({"width": width, "height": 860})
        size = page.locator("live-reading .value").evaluate("it => getComputedStyle(it).fontSize")
        assert CAPITAL * float(size.removesuffix("px")) >= CAPITALS_AT_TWO_METRES
        assert page.evaluate("live.scrollWidth <= live.clientWidth + 1")
    page.set_viewport_size({"width": 1280, "height": 860})
    said = page.locator("live-reading .whole").inner_text()
    for words in (
        "0.120",
        "V",
        "±\u00a00.004\u00a0V",
        "low",
        "0.601\u00a0V to 0.715\u00a0V",
        "two good",
    ):
        assert words in said
    page.locator("live-reading [role=status]", has_text="J4.3: 0.120\u00a0V, low").wait_for(
        state="attached"
    )
    page.evaluate(
        "live.reading = {point: 'J4.3', value: 'over-range', mode: 'diode', verdict: 'over'}"
    )
    assert page.evaluate("live.words") == "J4.3: OL, over-range"
    page.evaluate("live.reading = {point: 'J4.3', value: null, mode: 'ohms'}")
    assert "touch the pin" in page.locator("live-reading .whole").inner_text()


def test_sound_is_off_until_somebody_turns_it_on(page: Any, address: str) -> None:
    key = page.get_by_role("button", name="Tones")
    assert key.get_attribute("aria-pressed") == "false"
    assert page.evaluate("playTone('agrees')") is False
    key.click()
    assert key.get_attribute("aria-pressed") == "true"
    assert page.evaluate("playTone('differs')") is True
    opened(page, address)
    assert page.get_by_role("button", name="Tones").get_attribute("aria-pressed") == "true"
    page.get_by_role("button", name="Tones").click()
    assert page.evaluate("playTone('agrees')") is False
    assert page.evaluate("say('J4.3: 0.120 V')") is False
    spoken = page.evaluate("spoken('J4.3: 0.120\u00a0V, OL, 4.70\u00a0kΩ')")
    assert spoken == "J 4 pin 3: 0.120 volts, over-range, 4.70 kilohms"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_cut_off_on_a_narrow_screen(window: Any, address: str, scheme: str) -> None:
    settings = {"viewport": {"width": NARROW, "height": 844}, "color_scheme": scheme}
    page = new_page(window.context.browser, **settings)
    try:
        opened(page, address)
        assert page.evaluate("document.documentElement.scrollWidth") <= NARROW
        small = page.evaluate(
            "[map, list, picture, live].flatMap(each =>"
            " [...each.shadowRoot.querySelectorAll('button, input, summary')])"
            ".filter(each => each.checkVisibility()).map(each => each.getBoundingClientRect())"
            ".filter(box => box.height < 56 || box.width < 56).length"
        )
        assert small == 0
        assert page.troubles == []
    finally:
        page.context.close()


def test_the_map_follows_the_theme(page: Any) -> None:
    corner = page.evaluate("colourAt(300, 4)")
    page.evaluate("document.documentElement.dataset.theme = 'dark'")
    dark = page.evaluate("colourAt(300, 4)")
    assert sum(dark) < sum(corner) / 2
