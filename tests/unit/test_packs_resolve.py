"""From the little that somebody wrote to a whole pack."""

from __future__ import annotations

import re

import pytest

from nextprobe.errors import DataError
from nextprobe.packs import FunctionClass, Pack, pack_from_template, pack_hash, resolve
from nextprobe.packs.yaml_text import read_yaml

SMALLEST = {"device": {"name": "X"}, "functions": {"camera": {"class": "camera"}}}


def resolved(text: str) -> Pack:
    read = read_yaml(text, "device.yaml")
    assert read.findings == ()
    pack, findings = resolve(read.data, "device.yaml", read.lines)
    assert findings == (), [str(finding) for finding in findings]
    assert pack is not None
    return pack


def complaints(text: str) -> dict[str, tuple[int | None, str, str]]:
    """Return line, words and remedy of each finding by its field."""
    read = read_yaml(text, "device.yaml")
    assert read.findings == ()
    pack, findings = resolve(read.data, "device.yaml", read.lines)
    assert pack is None
    return {f.where.name or "": (f.where.line, f.what, f.remedy) for f in findings}


def test_a_name_and_a_function_are_enough() -> None:
    pack, findings = resolve(SMALLEST, "device.yaml")
    assert findings == ()
    assert pack is not None
    assert pack.functions["camera"].needs.modules == ("camera",)
    assert pack.modules["camera"].title == "camera module"
    assert "camera self-test" in pack.looks
    assert {"update", "restore"} <= set(pack.refreshes)


@pytest.mark.parametrize("kind", FunctionClass)
def test_every_class_gives_a_whole_pack(kind: FunctionClass) -> None:
    pack = pack_from_template(kind, "X")
    assert pack.functions[kind.value].kind is kind
    assert not re.search(r"\{\w+\}", pack.model_dump_json())


def test_an_unknown_class_or_an_empty_name_is_refused() -> None:
    with pytest.raises(DataError, match="camera"):
        pack_from_template("camra", "X")
    with pytest.raises(DataError, match="name"):
        pack_from_template("camera", "")


def test_values_say_where_they_came_from() -> None:
    pack = resolved(
        "device: {name: X}\n"
        "functions:\n"
        "  imaging:\n"
        "    class: camera\n"
        "    check: {minutes: 2}\n"
        "modules:\n"
        "  imaging:\n"
        "    connector: J4\n"
    )
    assert pack.functions["imaging"].check.minutes == 2
    assert pack.provenance["functions.imaging.check.minutes"] == "device.yaml, line 5"
    assert pack.provenance["functions.imaging.check.how"] == "template camera"
    assert pack.provenance["work.open.minutes"] == "shop defaults"
    assert pack.provenance["modules.imaging.connector"] == "device.yaml, line 8"
    derived = pack.provenance["functions.imaging.needs.connectors"]
    assert derived == "from modules.imaging.connector"
    assert pack.functions["imaging"].needs.connectors == ("J4",)
    assert pack.looks["look at J4"].connector == "J4"


def test_every_value_has_an_origin() -> None:
    pack = pack_from_template("charging", "X")

    def leaves(data: object, path: str) -> set[str]:
        if not isinstance(data, dict):
            return {path}
        return set().union(*(leaves(v, f"{path}.{k}" if path else k) for k, v in data.items()))

    data = pack.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude={"provenance"})
    assert leaves(data, "") <= set(pack.provenance)


def test_a_glued_device_takes_longer_to_open() -> None:
    screwed = resolved("device: {name: X}\nfunctions: {touch: {class: touch}}\n")
    glued = resolved("device: {name: X, sealed: true}\nfunctions: {touch: {class: touch}}\n")
    assert (screwed.work["open"].minutes, glued.work["open"].minutes) == (5, 15)
    assert glued.provenance["work.open.minutes"] == "shop defaults, sealed device"


def test_two_cameras_have_two_modules_and_shared_classes_share_one() -> None:
    cameras = resolved(
        "device: {name: X}\nfunctions: {back: {class: camera}, front: {class: camera}}"
    )
    assert set(cameras.modules) == {"back", "front"}
    screen = resolved(
        "device: {name: X}\nfunctions: {touch: {class: touch}, show: {class: display}}"
    )
    assert set(screen.modules) == {"screen"}


def test_a_named_module_takes_the_place_of_the_usual_one() -> None:
    pack = resolved(
        "device: {name: X}\nfunctions: {touch: {class: touch, needs: {modules: [panel, frame]}}}\n"
    )
    assert set(pack.modules) == {"panel", "frame"}
    assert pack.provenance["modules.panel.price"] == "template touch"
    assert pack.provenance["modules.frame.price"] == "shop defaults"


def test_an_empty_module_has_every_default() -> None:
    pack = resolved(
        "device: {name: X}\nfunctions: {camera: {class: camera}}\nmodules:\n  lens cover:\n"
    )
    assert pack.modules["lens cover"].price == 20


def test_a_pack_survives_json_under_both_names() -> None:
    pack = pack_from_template("camera", "X")
    assert Pack.model_validate_json(pack.model_dump_json()) == pack
    assert Pack.model_validate_json(pack.model_dump_json(by_alias=True)) == pack


def test_the_hash_follows_what_is_said_and_not_where() -> None:
    text = "device: {name: X}\nfunctions: {camera: {class: camera}}\n"
    here, moved = resolved(text), resolved(f"# a comment\n\n{text}")
    assert here.provenance != moved.provenance
    assert pack_hash(here) == pack_hash(moved)
    other = resolved(text.replace("X", "Y"))
    assert pack_hash(here) != pack_hash(other)
    assert len(pack_hash(here)) == 64


MISTAKES = [
    ("check: {minutes: 5 min}", "check.minutes", "write 5: this is minutes"),
    ("check: {minutes: 1.5 hours}", "check.minutes", "write 90: this is minutes"),
    ("check: {minutes: 90 s}", "check.minutes", "write 1.5: this is minutes"),
    ("check: {minutes: 5 parsecs}", "check.minutes", "write a number: this is minutes"),
    ("check: {false_pass: 3 %}", "check.false_pass", "write 0.03: this is a chance"),
    ("check: {false_pass: 95}", "check.false_pass", "write 0.95"),
    ("check: {minutes: -1}", "check.minutes", "greater than or equal to 0, in minutes"),
    ("check: {hwo: x}", "check.hwo", "did you mean 'how'?"),
    ("check: {how: 5}", "check.how", 'write it in quotes: "5"'),
    ("check: {access: opn}", "check.access", "did you mean 'open'?"),
    ("check: later", "check", "write 'name: value' lines below it"),
    ("check: {minutes: [1]}", "check.minutes", "write a number"),
    ("check: {minutes: .nan}", "check.minutes", "write a number"),
    ("check: {minutes: 1e999}", "check.minutes", "write a number"),
    ("needs: {modules: camera}", "needs.modules", "write a list: [camera]"),
    ("needs: {firmware: maybe}", "needs.firmware", "write true or false"),
    ("causes: {exteral: 3}", "causes.exteral", "did you mean 'external'?"),
    ("causes: {module: 3 %}", "causes.module", "write 3"),
    ("cautions: hot", "cautions", "write a list: [hot]"),
]


@pytest.mark.parametrize(("line", "field", "remedy"), MISTAKES)
def test_a_mistake_in_a_function_names_line_field_and_remedy(
    line: str, field: str, remedy: str
) -> None:
    text = f"device: {{name: X}}\nfunctions:\n  camera:\n    class: camera\n    {line}\n"
    found = complaints(text)
    assert f"functions.camera.{field}" in found, found
    place, _, said = found[f"functions.camera.{field}"]
    assert place == 5
    assert remedy in said


TABLES = [
    ("modules: {camera: {price: '€ 12'}}", "modules.camera.price", "write 12"),
    ("modules: {camera: {price: 12 EUR}}", "modules.camera.price", "write 12"),
    ("modules: {camera: {conector: J4}}", "modules.camera.conector", "'connector'"),
    ("modules: {camera: {recognised: soon}}", "modules.camera.recognised", "at once, after"),
    ("modules: {camera: {pairing: [{part: x, grade: wrks}]}}", "modules.camera.pairing.0.grade",
     "did you mean 'works'?"),
    ("work: {clean: {radius: 2 cm}}", "work.clean.radius", "write 20: this is millimetres"),
    ("work: {polish: {title: x}}", "work.polish.minutes", "add 'minutes: …'"),
    ("readings: {model: 150 mV}", "readings.model", "write 0.15: this is volts"),
    ("readings: {model: 0}", "readings.model", "greater than 0"),
    ("rates: {by_kind: {capacitro: {open: 1}}}", "rates.by_kind.capacitro", "'capacitor'"),
    ("rates: {by_kind: {chip: {opne: 1}}}", "rates.by_kind.chip.opne", "'open'"),
    ("modles: {}", "modles", "did you mean 'modules'?"),
    ("format: 2", "format", "known here: 1"),
    ("looks: {a: {title: t, how: h, minutes: 1, access: open, outcomes: {x: {drit: 1}}}}",
     "looks.a.outcomes.x.drit", "'dirt'"),
    ("looks: {a: {title: t, how: h, minutes: 1, access: open,"
     " outcomes: {x: {dirt: 1}, y: {otherwise: 0.5}}}}", "looks.a", "change one"),
    ("looks: {camera self-test: {function: camra}}", "looks.camera self-test.function",
     "did you mean 'camera'?"),
    ("jobs: {a: {title: t, says: s, complaint: camra, faults: ['module-bad:camera']}}",
     "jobs.a.complaint", "did you mean 'camera'?"),
    ("jobs: {a: {title: t, says: s, complaint: camera, history: [dorp], faults: ['dirt:J4']}}",
     "jobs.a.history.0", "did you mean 'drop'?"),
    ("jobs: {a: {title: t, says: s, complaint: camera, faults: ['modul-bad:camera']}}",
     "jobs.a.faults.0", "did you mean 'module-bad'?"),
    ("jobs: {a: {title: t, says: s, complaint: camera, faults: ['leaky:D1@much']}}",
     "jobs.a.faults.0", "did you mean 'leaky'?"),
    ("jobs: {a: {title: t, says: s, complaint: camera, faults: ['module-bad:camer']}}",
     "jobs.a.faults.0", "did you mean 'camera'?"),
    ("jobs: {a: {title: t, says: s, complaint: camera, faults: []}}", "jobs.a.faults", "at least"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "field", "remedy"), TABLES)
def test_a_mistake_in_a_table_names_line_field_and_remedy(
    line: str, field: str, remedy: str
) -> None:
    found = complaints(f"device: {{name: X}}\nfunctions: {{camera: {{class: camera}}}}\n{line}\n")
    assert field in found, found
    place, _, said = found[field]
    assert place == 3
    assert remedy in said


@pytest.mark.parametrize(
    ("text", "field", "remedy"),
    [
        ("device: {name: X}\n", "functions", "name at least one"),
        ("device: {name: X}\nfunctions: []\n", "functions", "name at least one"),
        ("device: {name: X}\nfunctions: {camera: }\n", "functions.camera.class", "'camera'"),
        ("device: {name: X}\nfunctions: {a: {class: camra}}\n", "functions.a.class", "'camera'"),
        ("functions: {camera: {class: camera}}\n", "device", "add 'device: …'"),
        ("device: {maker: M}\nfunctions: {camera: {class: camera}}\n", "device.name", "add 'name"),
        ("device: {name: 5}\nfunctions: {camera: {class: camera}}\n", "device.name", "quotes"),
        ("device: X\nfunctions: {camera: {class: camera}}\n", "device", "lines below it"),
    ],
)
def test_what_can_not_be_left_out(text: str, field: str, remedy: str) -> None:
    found = complaints(text)
    assert field in found, found
    assert remedy in found[field][2]


@pytest.mark.parametrize("table", ["modules", "looks", "work", "jobs", "refreshes", "rates"])
@pytest.mark.parametrize(
    "value", ["5", "[camera]", "text", "[[]]", "{camera: 5}", "{a: {b: {c: 1}}}"]
)
def test_a_table_of_the_wrong_shape_is_a_finding(table: str, value: str) -> None:
    assert complaints(
        f"device: {{name: X}}\nfunctions: {{camera: {{class: camera}}}}\n{table}: {value}\n"
    )
