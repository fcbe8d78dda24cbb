"""Functions guessed from a board, and the text of a drafted pack."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from nextprobe.board import Board, Part, PartKind, Pin, Role, understand
from nextprobe.packs import FunctionClass, resolve
from nextprobe.packs.board_names import missing_on_board
from nextprobe.packs.draft import draft_text, smallest_text
from nextprobe.packs.draft_functions import propose, propose_functions
from nextprobe.packs.yaml_text import read_yaml
from nextprobe.readers import read_chains


def drafted(board: Board, name: str = "X") -> str:
    known = understand(board).board
    return draft_text(name, propose_functions(known), "board.net")


def test_connectors_tell_their_function_by_the_names_of_their_nets() -> None:
    board, _ = read_chains(
        "J1.1 > LCD_D0 > U1.A1\nJ1.2 > LCD_D1 > U1.A2\nJ2.1 > SPK_P > U2.1\nJ2.2 > SPK_N > U2.2\n"
        "J3.1 > VBAT > U3.1\nJ3.2 > GND\nJ4.1 > FOO > U1.A9\nJ4.2 > GND"
    )
    found = {item.connector: item for item in propose_functions(understand(board).board)}
    assert {name: item.kind.value for name, item in found.items()} == {
        "J1": "display", "J2": "sound", "J3": "power"
    }  # fmt: skip
    assert found["J1"].chips == ("U1",)
    assert found["J3"].rails == ("VBAT",)
    assert "LCD" in found["J1"].reasons["class"]


def test_two_connectors_of_a_kind_are_two_functions() -> None:
    board, _ = read_chains("J1.1 > CAM_A > U1.1\nJ1.2 > GND\nJ2.1 > CAM_B > U1.2\nJ2.2 > GND")
    names = [item.name for item in propose_functions(understand(board).board)]
    assert names == ["camera", "camera J2"]


def test_where_nothing_tells_it_is_the_power() -> None:
    board, _ = read_chains("J1.1 > FOO > U1.1\nJ1.2 > BAR > U1.2\nJ2.1 > VDD > U1.3\nJ2.2 > GND")
    [only] = propose_functions(understand(board).board)
    assert (only.kind, only.connector) == (FunctionClass.POWER, "J2")
    [none] = propose_functions(Board("b", ()))
    assert none.connector is None


def test_every_guess_is_marked_and_what_is_stated_is_not() -> None:
    board, _ = read_chains("J1.1 > CAM_A > U1.1\nJ1.2 > VDD_CAM > U1.2\nJ1.3 > GND")
    assert drafted(board).count("# guess: ") == 4
    stated = propose(understand(board).board, "scan", FunctionClass.CAMERA, "J1")
    assert "class: camera\n" in draft_text("X", [stated])


@given(st.lists(st.text(min_size=1, max_size=8), min_size=2, max_size=5, unique=True), st.text())
def test_any_names_give_a_pack_that_fits_its_board(nets: list[str], name: str) -> None:
    pins = tuple(Pin(str(i), net) for i, net in enumerate(nets))
    board = Board(
        "b",
        (Part("J1", PartKind.CONNECTOR, pins), Part("U1", PartKind.CHIP, pins)),
        dict.fromkeys(nets, Role.RAIL),
    )
    called = f"x{''.join(c for c in name if c.isprintable())}"
    text = drafted(board, called)
    read = read_yaml(text, "device.yaml")
    pack, findings = resolve(read.data, "device.yaml", read.lines)
    assert pack is not None, (text, read.findings, findings)
    assert pack.device.name == called
    assert not missing_on_board(pack, understand(board).board, "device.yaml")


def test_the_smallest_pack_is_a_pack() -> None:
    read = read_yaml(smallest_text("yes", "no", "radio"), "device.yaml")
    pack, findings = resolve(read.data, "device.yaml", read.lines)
    assert pack is not None and not findings
    assert (pack.device.name, list(pack.functions)) == ("yes", ["no"])
