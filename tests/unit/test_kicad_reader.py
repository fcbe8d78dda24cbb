"""The reader of KiCad boards and netlists on small texts: every version, every recovery."""

from __future__ import annotations

from math import isclose

import pytest

from nextprobe.board import Board, PartKind, Role, Side
from nextprobe.errors import Finding, Severity
from nextprobe.readers import read_kicad_board, read_kicad_netlist
from nextprobe.readers.kicad.expressions import Expressions

V4 = """(kicad_pcb (version 4) (host pcbnew 4.0.7)
  (net 0 "") (net 1 GND) (net 2 /CAM_SDA)
  (module Resistors_SMD:R_0402 (layer B.Cu) (tedit 0) (tstamp 5A)
    (at 10 20 90)
    (fp_text reference R1 (at 0 -1 90) (layer B.SilkS))
    (fp_text value 4,7K (at 0 1 90) (layer B.Fab))
    (fp_line (start -1 -0.5) (end 1 -0.5) (layer B.CrtYd) (width 0.05))
    (fp_line (start -1 0.5) (end 1 0.5) (layer B.CrtYd) (width 0.05))
    (pad 1 smd rect (at -0.5 0 90) (size 0.6 0.5) (layers B.Cu B.Paste B.Mask) (net 1 GND))
    (pad 2 smd rect (at 0.5 0 90) (size 0.6 0.5) (layers B.Cu B.Paste B.Mask) (net 2 /CAM_SDA))
  )
  (gr_line (start 0 0) (end 40 0) (layer Edge.Cuts) (width 0.1))
  (gr_line (start 40 25) (end 40 0) (layer Edge.Cuts) (width 0.1))
  (gr_arc (start 35 25) (end 40 25) (angle 90) (layer Edge.Cuts) (width 0.1))
)
"""

V9 = """(kicad_pcb
\t(version 20241229)
\t(generator "pcbnew")
\t(net 0 "")
\t(net 1 "GND")
\t(net 2 "Net-(U1-PA0{slash}RX)")
\t(footprint "Package_DFN_QFN:QFN-3-1EP"
\t\t(layer "F.Cu")
\t\t(at 5 5 180)
\t\t(property "Reference" "U1" (at 0 0) (layer "F.SilkS"))
\t\t(property "Value" "say \\"hi\\"" (at 0 0))
\t\t(attr smd dnp)
\t\t(pad "1" smd rect (at 1 0 180) (size 1 1) (layers "F.Cu") (net 2 "Net-(U1-PA0{slash}RX)")
\t\t\t(pinfunction "PA0{slash}RX") (pintype "bidirectional"))
\t\t(pad "2" smd rect (at -1 0 180) (size 1 1) (layers "F.Cu") (pintype "no_connect"))
\t\t(pad "3" smd rect (at 0 0 180) (size 3 3) (layers "F.Cu" "F.Mask") (net 1 "GND"))
\t\t(pad "3" thru_hole circle (at 0 1) (size 0.5 0.5) (layers "*.Cu") (net 1 "GND"))
\t\t(pad "" smd rect (at 0 1) (size 0.5 0.5) (layers "F.Paste"))
\t)
)
"""


def read(text: str) -> tuple[Board, tuple[Finding, ...]]:
    board, findings = read_kicad_board(text, "toy.kicad_pcb")
    assert board is not None
    return board, findings


def footprint(reference: str, *pads: str, extra: str = "", value: str = "10k") -> str:
    words = f'(fp_text reference "{reference}") (fp_text value "{value}")'
    return f'(footprint "R_0402" (layer "F.Cu") (at 0 0) {words} {extra} {" ".join(pads)})'


def pad(number: str, net: str = "", at: str = "0 0") -> str:
    words = f'(net 1 "{net}")' if net else ""
    return f'(pad "{number}" smd rect (at {at}) (size 1 1) (layers "F.Cu") {words})'


def board_of(*forms: str) -> str:
    return f"(kicad_pcb (version 20211014)\n{chr(10).join(forms)}\n)"


def test_version_4_with_its_old_words() -> None:
    board, findings = read(V4)
    assert not findings and board.name == "toy"
    part = board.part("R1")
    assert (part.kind, part.value, part.note) == (PartKind.RESISTOR, 4700.0, "4,7K")
    assert (part.side, part.rotation, part.position) == (Side.BACK, 90.0, (0.01, 0.02))
    assert board.net_of("R1.2") == "/CAM_SDA"


def test_pads_turn_with_their_footprint() -> None:
    first, second = read(V4)[0].part("R1").pins
    assert first.position == pytest.approx((0.010, 0.0205))
    assert second.position == pytest.approx((0.010, 0.0195))
    assert first.pads[0].size == pytest.approx((0.6e-3, 0.5e-3))
    assert first.pads[0].rotation == 90.0 and first.side is Side.BACK


def test_the_outline_of_a_part_is_its_courtyard() -> None:
    corners = read(V4)[0].part("R1").outline
    assert {round(x * 1e3, 6) for x, _ in corners} == {9.5, 10.5}
    assert {round(y * 1e3, 6) for _, y in corners} == {19.0, 21.0}


def test_edges_are_joined_and_old_arcs_have_an_angle() -> None:
    (path,) = read(V4)[0].outline
    ends = {tuple(round(c * 1e3, 6) for c in point) for point in (path[0], path[-1])}
    assert ends == {(0.0, 0.0), (35.0, 30.0)}
    arc = [(x, y) for x, y in path if y > 0.0251]
    assert len(arc) >= 9
    assert all(isclose((x - 0.035) ** 2 + (y - 0.025) ** 2, 25e-6) for x, y in arc)


def test_a_new_arc_goes_through_its_middle() -> None:
    arc = '(gr_arc (start 1 0) (mid 0 1) (end -1 0) (layer "Edge.Cuts"))'
    (path,) = read(board_of(footprint("R1", pad("1", "A")), arc))[0].outline
    assert all(y >= -1e-9 for _, y in path) and len(path) > 10
    assert any(isclose(y, 1e-3, abs_tol=1e-6) for _, y in path)


def test_version_9_names_pins_and_leaves_parts_out() -> None:
    board, _ = read(V9)
    part = board.part("U1")
    assert not part.fitted and part.note == 'say "hi"'
    assert board.net_of("U1.1") == "Net-(U1-PA0/RX)"
    assert part.pin("1").function == "PA0/RX"
    assert part.pin("1").position == pytest.approx((0.004, 0.005))


def test_a_pad_without_a_net_is_not_connected() -> None:
    board, _ = read(V9)
    assert board.net_of("U1.2") == "N_U1_2"
    assert board.role("N_U1_2") is Role.NOT_CONNECTED


def test_thermal_pads_are_one_pin_with_the_largest_first() -> None:
    part = read(V9)[0].part("U1")
    assert [pin.number for pin in part.pins] == ["1", "2", "3"]
    ground = part.pin("3")
    assert len(ground.pads) == 2 and ground.pads[0].size == pytest.approx((3e-3, 3e-3))
    assert ground.side is Side.BOTH


def test_version_10_has_nets_without_numbers() -> None:
    text = V9.replace('(net 1 "GND")', '(net "GND")').replace("20241229", "20260206")
    board, findings = read(text)
    assert board.net_of("U1.3") == "GND" and not findings


def test_a_version_nobody_knows_is_a_warning() -> None:
    _, findings = read(V9.replace("20241229", "20990101"))
    assert any("newer than what is known" in finding.what for finding in findings)


def test_parts_without_a_name_or_with_the_same_get_one_of_their_own() -> None:
    pads = pad("1", "A"), pad("2", "B")
    board, findings = read(
        board_of(*(footprint(name, *pads) for name in ("R1", "R1", "", "", "R1_2", "J1.A")))
    )
    assert sorted(board.by_reference) == ["J1_A", "R1", "R1_2", "R1_3", "X?", "X?_2"]
    assert board.part("R1").kind is PartKind.RESISTOR
    renamed = [finding for finding in findings if "made up" in finding.what]
    assert len(renamed) == 3 and {finding.where.line for finding in renamed} == {3, 4, 7}


def test_pads_of_one_number_on_two_nets_are_two_pins() -> None:
    text = footprint("SW1", pad("1", "A"), pad("1", "B"), pad("1", "A"), pad("1"), pad("2", "C"))
    board, findings = read(board_of(text))
    assert {pin.number: pin.net for pin in board.part("SW1").pins} == {
        "1": "A",
        "1_2": "B",
        "2": "C",
    }
    assert any("on two nets" in finding.what for finding in findings)


def test_holes_marks_and_logos_are_no_parts() -> None:
    board, findings = read(
        board_of(footprint("R1", pad("1", "A")), footprint("H1"), footprint("G1"))
    )
    assert list(board.by_reference) == ["R1"]
    (finding,) = findings
    assert finding.severity is Severity.NOTE and "2 footprints have no pin" in finding.what


def test_a_board_without_nets_is_an_error_and_states_no_roles() -> None:
    board, findings = read(board_of(footprint("R1", pad("1"), pad("2"))))
    assert not board.roles
    assert any("nothing is joined" in finding.what for finding in findings)


@pytest.mark.parametrize(
    ("extra", "value", "fitted"),
    [
        ('(property "DNP" "yes")', "10k", False),
        ('(property "DNP" "")', "10k", True),
        ('(property "dnp" "0")', "10k", True),
        ('(property "Fitted" "No")', "10k", False),
        ("(attr smd)", "NA(2k/1%)", False),
        ("(attr smd dnp)", "10k", False),
        ("(attr smd exclude_from_bom)", "10k", True),
    ],
)
def test_marks_of_parts_that_are_not_fitted(extra: str, value: str, fitted: bool) -> None:
    text = footprint("R1", pad("1", "A"), pad("2", "B"), extra=extra, value=value)
    part = read(board_of(text))[0].part("R1")
    assert part.fitted is fitted and part.value is not None


def test_values_that_can_not_be_read_are_listed_once() -> None:
    pads = pad("1", "A"), pad("2", "B")
    texts = [footprint(f"C{i}", *pads, value="22OnF") for i in range(1, 10)]
    (finding,) = read(board_of(*texts))[1]
    assert "22OnF" in finding.what and finding.where.name == "C1, C2, C3, C4, C5, C6 and 3 more"


def test_a_lost_parenthesis_is_put_back() -> None:
    lost = pad("1", "A").replace("(net", "(teardrops (curved_edges no)filter_ratio 0.9)) (net")
    wanted = pad("2").replace('(layers "F.Cu")', '(layers "F.Cu")net 1 "B")')
    board, findings = read(board_of(footprint("R1", lost, wanted), footprint("R2", pad("1", "B"))))
    assert board.net_of("R1.1") == "A" and board.net_of("R1.2") == "B"
    assert "R2" in board.by_reference
    (finding,) = findings
    assert finding.what.startswith("2 opening parentheses are missing") and finding.where.line == 2


@pytest.mark.parametrize("cut", range(60, len(V9) - 3, 37))
def test_a_file_that_was_cut_off_is_a_finding(cut: int) -> None:
    _, findings = read_kicad_board(V9[:cut], "cut.kicad_pcb")
    assert any("ends within" in f.what or "does not end" in f.what for f in findings)
    assert all(
        finding.where.line and finding.remedy for finding in findings if "end" in finding.what
    )


def test_what_is_complete_before_the_cut_is_kept() -> None:
    text = board_of(footprint("R1", pad("1", "A")), footprint("R2", pad("1", "B")))
    board, _ = read(text[: text.index("R2") + 30])
    assert list(board.by_reference) == ["R1"]


@pytest.mark.parametrize(
    "text", ["", "   ", "hello", ")", "(", '"', "(export (version D))", "(kicad_pcb", "(kicad_pcb)"]
)
def test_what_is_no_board_is_a_finding(text: str) -> None:
    board, findings = read_kicad_board(text)
    assert board is None
    assert findings and all(finding.what and finding.remedy for finding in findings)


def test_text_after_the_end_is_reported() -> None:
    _, findings = read(board_of(footprint("R1", pad("1", "A"))) + "\n(more)")
    assert any("goes on after" in finding.what and finding.where.line == 4 for finding in findings)


def test_nesting_without_end_is_no_trouble() -> None:
    deep = "(kicad_pcb (footprint" + "(pad" * 50_000
    board, findings = read_kicad_board(deep)
    assert board is None and findings
    assert read_kicad_board("(" * 100_000)[0] is None


def test_progress_is_told_in_order() -> None:
    told: list[float] = []
    filler = f"(zone (pts {'(xy 1.25 3.5) ' * 30_000}))"
    read_kicad_board(board_of(footprint("R1", pad("1", "A")), *[filler] * 8), "x", told.append)
    assert told == sorted(told) and len(told) >= 2 and 0 < told[0] < told[-1] <= 1


def test_lines_are_counted_from_one() -> None:
    file = Expressions("a\nb\nc", "x")
    assert [file.line(at) for at in (0, 1, 2, 4)] == [1, 1, 2, 3]


NETLIST = """(export (version D)
  (components
    (comp (ref R1) (value 4k7) (footprint R_0402) (libsource (lib Device) (part R)))
    (comp (ref U1) (value CHIP) (fields (field (name DNP) y)) (libsource (lib X) (part Y)))
    (comp (ref R2) (value ~) (property (name "dnp")) (libsource (lib Device) (part R))))
  (libparts
    (libpart (lib X) (part Y) (pins
      (pin (num A1) (name SDA) (type BiDi)) (pin (num A2) (name ~) (type NotConnected))))
    (libpart (lib Device) (part R) (pins (pin (num 1) (name ~) (type passive)))))
  (nets
    (net (code 1) (name GND) (node (ref R1) (pin 1)) (node (ref R2) (pin 1)))
    (net (code 2) (name "/SDA") (node (ref R1) (pin 2)) (node (ref U1) (pin A1) (pinfunction S)))
    (net (code 3) (name X) (node (ref Q9) (pin 1)))))
"""


def test_a_netlist_has_names_of_pins() -> None:
    board, findings = read_kicad_netlist(NETLIST, "toy.net")
    assert board is not None
    assert board.part("R1").value == 4700.0 and board.part("R2").note == ""
    assert board.net_of("U1.A1") == "/SDA" and board.part("U1").pin("A1").function == "S"
    assert board.role(board.net_of("U1.A2")) is Role.NOT_CONNECTED
    assert [part.reference for part in board.parts if not part.fitted] == ["U1", "R2"]
    assert "Q9" in board.by_reference and any("Q9" in str(finding) for finding in findings)


def test_a_board_is_no_netlist() -> None:
    board, findings = read_kicad_netlist(V4)
    assert board is None and findings[0].remedy
