"""Prior chances: shares of the complaint, history, rates within a share."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import pytest
from diagnosis_cases import LATE, chance, pannier, small_board, small_case

from nextprobe.board import FaultKind
from nextprobe.diagnosis.candidates import candidates
from nextprobe.diagnosis.priors import prior_chances
from nextprobe.errors import MisuseError
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Pack


def shares(
    pack: Pack, history: Sequence[str] = (), *, board: bool = False
) -> dict[Cause | None, float]:
    drawn = small_board() if board else None
    listed = candidates(pack, drawn, "scanner")
    chances = prior_chances(pack, drawn, "scanner", history, listed)
    found: dict[Cause | None, float] = defaultdict(float)
    for item, value in zip(listed, chances, strict=True):
        found[item.cause] += float(value)
    return found


@pytest.mark.parametrize("board", [False, True])
def test_shares_are_those_of_the_pack(board: bool) -> None:
    pack = pannier()
    given = pack.functions["scanner"].causes
    found = shares(pack, board=board)
    assert sum(found.values()) == pytest.approx(1.0, abs=1e-12)
    assert found[None] == pytest.approx(pack.unlisted, abs=1e-12)
    for cause, share in given.items():
        expected = share / sum(given.values()) * (1.0 - pack.unlisted)
        assert found[cause] == pytest.approx(expected, rel=1e-9), cause


@pytest.mark.parametrize("word", ["liquid", "drop", "earlier work", "modules swapped"])
def test_history_multiplies_the_odds_between_causes(word: str) -> None:
    pack = pannier()
    before, after = shares(pack), shares(pack, [word])
    factors = pack.history[word]
    plain = Cause.FIRMWARE
    for cause in pack.functions["scanner"].causes:
        moved = (after[cause] / after[plain]) / (before[cause] / before[plain])
        assert moved == pytest.approx(factors.get(cause, 1.0), rel=1e-9), cause


def test_two_things_that_happened_multiply() -> None:
    pack = pannier(history={"both": {"passive short": 12.0}, "one": {"passive short": 3.0}})
    twice, thrice = shares(pack, ["one", "liquid"]), shares(pack, ["both"])
    ratio = (twice[Cause.PASSIVE_SHORT] / twice[Cause.MODULE]) / (
        thrice[Cause.PASSIVE_SHORT] / thrice[Cause.MODULE]
    )
    assert ratio == pytest.approx(1.0, rel=1e-9)


def test_a_word_that_the_pack_does_not_know_is_refused_and_the_known_ones_named() -> None:
    with pytest.raises(MisuseError, match="liquid"):
        small_case(history=["lightning"])


def test_a_complaint_that_the_pack_does_not_know_is_refused_and_the_known_ones_named() -> None:
    with pytest.raises(MisuseError, match="viewfinder"):
        small_case(complaint="telephone")


@pytest.mark.parametrize("name", ["D1", "leaky:D1"])
def test_a_weak_spot_gains_against_its_like(name: str) -> None:
    plain = small_case(board=True)
    weak = small_case(board=True, pack=pannier(rates={"weak_spots": {name: 4.0}}))
    ratio = [chance(case, "leaky:D1") / chance(case, "leaky:D2") for case in (plain, weak)]
    assert ratio[0] == pytest.approx(1.0, rel=1e-9)
    assert ratio[1] == pytest.approx(4.0, rel=1e-9)


def test_a_weak_spot_does_not_change_the_share_of_its_cause() -> None:
    weak = pannier(rates={"weak_spots": {"D1": 40.0}})
    assert shares(weak, board=True)[Cause.PASSIVE_SHORT] == pytest.approx(
        shares(pannier(), board=True)[Cause.PASSIVE_SHORT], rel=1e-9
    )


def test_a_connector_as_weak_spot_reaches_its_pins_and_its_seat() -> None:
    plain = small_case(board=True)
    weak = small_case(board=True, pack=pannier(rates={"weak_spots": {"J1": 3.0}}))
    for key in ("poor-seating:J1", "joint-open:J1.1"):
        moved = [chance(case, key) / chance(case, f"module-bad:{LATE}") for case in (plain, weak)]
        assert moved[1] >= moved[0]


def test_a_finer_grid_of_magnitudes_is_no_more_chance() -> None:
    case = small_case(board=True)
    sizes = [i for i in case.model.listed if i.fault.family == "leaky:D1"]
    assert len(sizes) > 3
    rates = case.model.pack.rates.by_kind["protection"]
    short, leaky = chance(case, "short:D1"), chance(case, "leaky:D1")
    assert leaky / short < rates["leaky"] / rates["short"]
    assert leaky / short > 0.2 * rates["leaky"] / rates["short"]


def test_what_is_not_drawn_keeps_a_tenth_of_its_share() -> None:
    pack = pannier()
    listed = candidates(pack, small_board(), "scanner")
    chances = prior_chances(pack, small_board(), "scanner", (), listed)
    opened = [
        (item.located, float(value))
        for item, value in zip(listed, chances, strict=True)
        if item.cause is Cause.PASSIVE_OPEN
    ]
    lost = sum(value for located, value in opened if not located)
    assert lost / sum(value for _, value in opened) == pytest.approx(0.1, rel=1e-9)


def test_seating_is_split_as_the_pack_says() -> None:
    case = small_case()
    split = case.model.pack.seating_split
    ratio = chance(case, FaultKind.SEATING) / chance(case, FaultKind.DIRT)
    assert ratio == pytest.approx(split["poor seating"] / split["dirt"], rel=1e-9)
