"""Colours of the pages against the contrasts of WCAG 2.2, level AA (1.4.3 and 1.4.11)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import nextprobe.web

THEME = Path(nextprobe.web.__file__).parent / "static" / "theme.css"
TEXT, LINES = 4.5, 3.0
SURFACES = ("paper", "sheet", "sunken")
INKS = ("ink", "ink-quiet", "mark", "agrees", "differs", "unsure", "over", "unread")


def colours(mode: str) -> dict[str, str]:
    """Return the colours of one mode by name."""
    pairs = re.findall(r"--([\w-]+): light-dark\((#\w{6}), (#\w{6})\)", THEME.read_text())
    return {name: light if mode == "light" else dark for name, light, dark in pairs}


def luminance(colour: str) -> float:
    """Return the relative luminance as WCAG 2.2 defines it."""
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def contrast(first: str, second: str) -> float:
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white_is_21() -> None:
    """The ends of the scale, as the definition of contrast ratio in WCAG 2.2 gives them."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_text_can_be_read(mode: str) -> None:
    found = colours(mode)
    pairs = [(ink, surface) for ink in INKS for surface in SURFACES]
    pairs += [(ink, f"{ink}-wash") for ink in INKS if f"{ink}-wash" in found]
    pairs += [("ink", name) for name in found if name.endswith("-wash")]
    pairs += [("on-mark", "mark"), ("on-mark", "target"), ("sheet", "differs"), ("sheet", "ink")]
    pairs += [("ink", "body"), ("on-pad", "copper"), ("ink-quiet", "unsure-wash")]
    assert {pair: contrast(found[pair[0]], found[pair[1]]) for pair in pairs} == {
        pair: pytest.approx(21.0, abs=21.0 - TEXT) for pair in pairs
    }


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_lines_of_controls_and_pictures_can_be_seen(mode: str) -> None:
    found = colours(mode)
    pairs = [("rule-strong", surface) for surface in SURFACES]
    pairs += [("board-edge", "board"), ("board-edge", "sunken"), ("copper-edge", "body")]
    pairs += [("target", name) for name in ("board", "body", "sunken")]
    pairs += [("on-pad", f"suspicion-{level}") for level in (1, 2, 3, 4)]
    pairs += [("on-pad-5", "suspicion-5"), ("mark", "sheet")]
    assert {pair: contrast(found[pair[0]], found[pair[1]]) for pair in pairs} == {
        pair: pytest.approx(21.0, abs=21.0 - LINES) for pair in pairs
    }
