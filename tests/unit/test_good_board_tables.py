"""Tables of readings of known-good boards, as people type and paste them."""

from __future__ import annotations

import pytest

from nextprobe.board import OVER_RANGE, Board, MeterMode, Part, PartKind, Pin
from nextprobe.errors import Severity
from nextprobe.readers.good_boards import read_good_boards


def values(text: str, mode: MeterMode = MeterMode.DIODE) -> dict[tuple[str, MeterMode], dict]:
    columns, findings = read_good_boards(text, "boards.csv", mode=mode)
    assert findings == ()
    return {(column.label, column.mode): dict(column.readings) for column in columns}


def wrong(text: str, **options) -> list[tuple[int | None, int | None, str]]:
    _, findings = read_good_boards(text, "boards.csv", **options)
    assert all(finding.where.source == "boards.csv" for finding in findings)
    return [(each.where.line, each.where.column, each.what) for each in findings]


@pytest.mark.parametrize(
    "text",
    [
        "point;DON-1;DON-2\nJ4.3;0,658;655\nJ4.21;OL;0L\n",
        "Point\tDON-1\tDON-2\r\nJ4.3\t.658\t655 mV\r\nJ4.21\tOL\t.OL\r\n",
        "pin,DON-1,DON-2,,\nJ4.3,0.658,0.655,,\nJ4.21,over-range,open,,\n",
        "point DON-1 DON-2\nJ4.3 658 655  # measured twice\n\nJ4.21 OL OL\n",
        "\ufeffpoint;DON-1 [mV];DON-2 (V);note\nJ4.3;658;0,655;near the corner\nJ4.21;OL;OL;\n",
        'point,DON-1,DON-2\nJ4.3,"0,658","0,655"\nJ4.21,OL,OL\n',
    ],
)
def test_spreadsheets_of_any_kind_say_the_same(text: str) -> None:
    assert values(text) == {
        ("DON-1", MeterMode.DIODE): {"J4.3": 0.658, "J4.21": OVER_RANGE},
        ("DON-2", MeterMode.DIODE): {"J4.3": 0.655, "J4.21": OVER_RANGE},
    }


def test_one_board_needs_no_heading() -> None:
    assert values("J4.3 .658\nJ4.4 gnd\n") == {("", MeterMode.DIODE): {"J4.3": 0.658, "J4.4": 0.0}}


def test_modes_make_records_of_their_own() -> None:
    found = values("point;A;mode\nJ4.3;0,5;\nJ4.3;4k7;ohms\nJ4.4;0.3;low ohms\n")
    assert found == {
        ("A", MeterMode.DIODE): {"J4.3": 0.5},
        ("A", MeterMode.OHMS): {"J4.3": 4700.0},
        ("A", MeterMode.LOW_OHMS): {"J4.4": 0.3},
    }


def test_a_unit_in_the_heading_is_that_of_bare_numbers() -> None:
    found = values("point;A [kohm];B\nJ4.3;4.7;4700\n", MeterMode.OHMS)
    assert found["A", MeterMode.OHMS] == found["B", MeterMode.OHMS]


def test_what_was_not_measured_is_left_out_in_silence() -> None:
    found = values("point;A;B\nJ4.3;-;0.5\nJ4.4;;0.6\nJ4.5\n")
    assert found == {("B", MeterMode.DIODE): {"J4.3": 0.5, "J4.4": 0.6}}


def test_each_mistake_is_named_with_line_and_column_and_costs_no_more_than_itself() -> None:
    text = (
        "point;A;B;mode;\n"
        "J4.3;0.5;abc;;\n"
        "J4.4;-0.5;0.6;;x\n"
        ";0.5;0.6;;\n"
        "J4.3;0.7;0.6;;\n"
        "J4.5;0.5;0.6;beeper;\n"
        "J4.6;0.5;0.6;;;0.7\n"
        "J4.7;nc;3;;\n"
    )
    assert [(line, column) for line, column, _ in wrong(text)] == [
        (2, 3), (3, 5), (3, 2), (4, 1), (5, 2), (6, 4), (7, 6), (8, 2), (8, 3),
    ]  # fmt: skip
    columns, _ = read_good_boards(text)
    assert [(each.label, dict(each.readings)) for each in columns] == [
        ("A", {"J4.3": 0.5}),
        ("B", {"J4.4": 0.6, "J4.3": 0.6}),
    ]
    assert [(each.line, each.column) for each in columns] == [(2, 2), (3, 3)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no reading"),
        ("# nothing\n", "no reading"),
        ("J4.3;0.5;0.6\n", "nothing says which boards"),
        ("J4.3,0,452\n", "nothing says which boards"),
        ("point;mode\nJ4.3;diode\n", "names no board"),
        ("point;mode;reading;boards\nJ4.3;diode;0.5;2\n", "means over boards"),
    ],
)
def test_a_table_that_names_no_boards_is_refused_whole(text: str, said: str) -> None:
    columns, findings = read_good_boards(text)
    assert columns == ()
    assert said in findings[0].what


def test_a_board_that_comes_twice_is_read_once() -> None:
    [(line, column, what)] = wrong("point;A;a\nJ4.3;0.5;0.6\n")
    assert (line, column) == (1, 3)
    assert "two columns" in what


def test_beyond_the_range_of_the_meter_is_a_finding() -> None:
    [(line, column, what)] = wrong("point;A\nJ4.3;1M\n", mode=MeterMode.OHMS)
    assert (line, column) == (2, 2)
    assert "beyond the range" in what


def test_not_connected_is_a_note() -> None:
    _, [finding] = read_good_boards("point;A\nJ4.3;nc\nJ4.4;0.5\n")
    assert finding.severity is Severity.NOTE


def test_points_are_those_of_the_board_in_its_spelling() -> None:
    part = Part("J4", PartKind.CONNECTOR, (Pin("3", "CAM_SDA"), Pin("4", "CAM_SCL")))
    board = Board("small", (part,))
    columns, [finding] = read_good_boards(
        "point;A\nj4.3;0.5\ncam_scl;0.6\nJ4.33;0.7\n", board=board
    )
    assert dict(columns[0].readings) == {"J4.3": 0.5, "CAM_SCL": 0.6}
    assert (finding.where.line, finding.where.column) == (4, 1)
    assert "did you mean J4.3" in finding.remedy
