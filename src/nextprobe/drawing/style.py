"""The style sheet of a map, for bright and for dark surroundings."""

from __future__ import annotations

from nextprobe.drawing.marks import MARKS

_LIGHT = """
svg{background:#f6f5f1;font-family:"Inter","Segoe UI","DejaVu Sans",sans-serif}
.sheet{fill:#f6f5f1}.ink{fill:#1b1b1f}.quiet{fill:#5b5d63}.line{stroke:#1b1b1f}
.board{fill:#e3e9e4;stroke:#40534a}.hole{fill:#f6f5f1;stroke:#40534a}
.body{fill:#cfd6d2;stroke:#6c7a73}.name{fill:#14211b;stroke:#e3e9e4}
.hollow,.not-connected .copper,.unknown .copper{fill:#f6f5f1;stroke:#5b5d63}
.sign-own{stroke:#1b1b1f}.ring{stroke:#1b1b1f}.tag{fill:#1b1b1f}.tag-text{fill:#ffffff}
.thread{stroke:#1b1b1f}
"""
_DARK = """
svg{background:#141619}.sheet{fill:#141619}.ink{fill:#ececec}.quiet{fill:#a9adb3}
.line{stroke:#ececec}.board{fill:#20302a;stroke:#8aa396}.hole{fill:#141619;stroke:#8aa396}
.body{fill:#31463d;stroke:#7f968a}.name{fill:#f3f7f4;stroke:#20302a}
.hollow,.not-connected .copper,.unknown .copper{fill:#141619;stroke:#a9adb3}
.sign-own{stroke:#ececec}.ring{stroke:#ffffff}.tag{fill:#ffffff}.tag-text{fill:#141619}
.thread{stroke:#ffffff}.radio .copper{stroke:#ececec;stroke-width:.08}
"""
_ALWAYS = """
.board,.hole{stroke-width:.25}.unsure{stroke-dasharray:1.2 .8}
.body{stroke-width:.12}.body.absent{fill:none;stroke-dasharray:.5 .35}
.copper{stroke-width:.06}.absent .copper{fill-opacity:.35}
.sign{fill:none;stroke-width:.26;stroke-linecap:round;stroke-linejoin:round}
.name{text-anchor:middle;dominant-baseline:central;font-weight:600;paint-order:stroke;
stroke-linejoin:round;pointer-events:none}
.faint{opacity:.16}.ring{fill:none;stroke-width:.3}
.thread{fill:none;stroke-width:.18;stroke-dasharray:.9 .5;opacity:.75}
.tag-text{text-anchor:middle;dominant-baseline:central;font-weight:600}
.line{fill:none;stroke-width:.3}
"""


def style_sheet() -> str:
    """Return the whole style sheet."""
    coloured = "".join(
        f".{mark.name} .copper{{fill:{mark.fill}}}.sign-{mark.name}{{stroke:{mark.ink}}}"
        for mark in MARKS.values()
        if mark.fill != "none"
    )
    return f"{_LIGHT}{_ALWAYS}{coloured}\n@media (prefers-color-scheme:dark){{{_DARK}}}"
