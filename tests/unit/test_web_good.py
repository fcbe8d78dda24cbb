"""Known-good boards over the interface."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        yield found


def test_boards_are_kept_once_corrected_and_withdrawn(bench: Bench) -> None:
    body = {"label": "A1", "text": "J4.2 0.61\nJ4.3 0.45", "on": "2026-11-20"}
    first = bench.post("/known-good/wicker/boards", key="board-0001", **body)
    again = bench.post("/known-good/wicker/boards", key="board-0001", **body)
    assert (first["repeated"], again["repeated"]) == (False, True)
    assert first["kept"] == again["kept"]
    bench.post("/known-good/wicker/boards", 409, key="board-0001", **{**body, "label": "A2"})
    [kept] = first["kept"]
    new = bench.post(
        "/known-good/wicker/corrections", key="right-0001", number=kept["number"], text="J4.3 0.46"
    )
    again = bench.post(
        "/known-good/wicker/corrections", key="right-0001", number=kept["number"], text="J4.3 0.46"
    )
    assert again["kept"] == new["kept"]
    number = new["kept"][0]["number"]
    gone = [bench.post("/known-good/wicker/withdrawals", key="gone-00001", number=number)
            for _ in range(2)]  # fmt: skip
    assert [answer["repeated"] for answer in gone] == [False, True]
    assert gone[1]["boards"] == 0
    assert bench.get("/known-good/wicker")["boards"] == []


def test_a_table_keeps_a_board_a_column(bench: Bench) -> None:
    text = "point,A1,A2\nJ4.2,0.610,0.615\nJ4.3,0.450,0.455\n"
    found = bench.post("/known-good/wicker/tables", key="table-0001", text=text)
    assert [record["label"] for record in found["kept"]] == ["A1", "A2"]
    assert bench.post("/known-good/wicker/tables", key="table-0001", text=text)["repeated"]
    [point] = bench.get("/known-good/wicker/points", point="j4.3")["points"]
    assert (point["boards"], len(point["readings"])) == (2, 2)
    assert point["in_job"]["value"] == pytest.approx(0.452, abs=0.003)
    assert bench.get("/known-good")["devices"] == ["Wicker 1"]


def test_the_donor_of_a_job_is_kept(bench: Bench) -> None:
    bench.start()
    bench.post("./known-good", 422)
    bench.post("./readings", text="J4.2 0.611\nJ4.3 0.451", device="donor")
    found = bench.post("./known-good", key="donor-0001", label="D7")
    assert [record["label"] for record in found["kept"]] == ["D7"]
    assert bench.post("./known-good", key="donor-0001", label="D7")["repeated"]


def test_what_is_wrong_is_said(bench: Bench) -> None:
    path = "/known-good/wicker/boards"
    bench.post("/known-good/moon/boards", 404, label="A", text="J4.2 0.61")
    bench.post(path, 422, label="A", text="J4.2 0.61", on="2026-13-40")
    bench.post(path, 422, label="A", text="J4.2 0.61", clamped="J99.1")
    bench.post(path, 422, label="A", text="nothing")
    bench.post("/known-good/wicker/corrections", 422, number=4, label="B")
    bench.post("/known-good/wicker/withdrawals", 422, number=4)


def test_a_device_without_a_pack_goes_by_its_name(bench: Bench) -> None:
    bench.start(pack=None, template="camera", device="Brindle 4")
    bench.post("./readings", text="J4.2 0.611", device="donor")
    bench.post("./known-good", label="D7")
    assert bench.get("/known-good/brindle 4")["device"] == "Brindle 4"
    bench.get("/known-good/etc", 404)
