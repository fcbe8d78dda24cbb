"""The small device with everything that a pack can say of measurements."""

from __future__ import annotations

from diagnosis_cases import pannier

from nextprobe.packs.schema import Pack

RAILS = {"SC_VDD12": 1.2, "SC_VDD": 1.2, "VDD18": 1.8}
SUPPLY = {
    "volts": 3.8,
    "limit": 2.0,
    "rails": ["VSYS"],
    "before_key": {
        "title": "Read the current before the key",
        "how": "Do not press.",
        "minutes": 4,
        "mean": 0.0004,
        "spread": 0.0003,
        "under": {"power chip": [{"chance": 0.5, "mean": 0.1, "spread": 0.05}]},
    },
    "after_key": {
        "title": "Read the current after the key",
        "how": "Press.",
        "minutes": 3,
        "mean": 0.28,
        "spread": 0.06,
        "under": {"processor": [{"chance": 0.5, "mean": 0.05, "spread": 0.02}]},
    },
}
CODES = {"E-1": {"module": 0.7, "otherwise": 0.05}, "E-2": {"firmware corrupt": 0.6}}


def rich() -> Pack:
    refreshes = {"update": {"code_chances": CODES}}
    return pannier(rails=RAILS, supply_current=SUPPLY, refreshes=refreshes)
