"""Core schema of YAML 1.2.2 (2021), clause 10.3.2, example 10.9 "Core Tag Resolution".

The example was written down from memory of https://yaml.org/spec/1.2.2/.
"""

from __future__ import annotations

import math

from nextprobe.packs.yaml_text import read_yaml

EXAMPLE = """\
A null: null
Booleans: [ true, True, false, FALSE ]
Integers: [ 0, 0o7, 0x3A, -19 ]
Floats: [ 0., -0.0, .5, +12e03, -2E+05 ]
Also floats: [ .inf, -.Inf, +.INF, .NAN ]
"""


def test_example_10_9() -> None:
    read = read_yaml(EXAMPLE, "example")
    assert read.findings == ()
    assert read.data["A null"] is None
    assert read.data["Booleans"] == [True, True, False, False]
    assert read.data["Integers"] == [0, 7, 58, -19]
    assert all(type(item) is int for item in read.data["Integers"])
    assert read.data["Floats"] == [0.0, -0.0, 0.5, 12000.0, -200000.0]
    assert all(type(item) is float for item in read.data["Floats"])
    assert read.data["Also floats"][:3] == [math.inf, -math.inf, math.inf]
    assert math.isnan(read.data["Also floats"][3])
