"""Events, their canonical text and the chain of hashes."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace

import pytest

from nextprobe.errors import MisuseError
from nextprobe.workbench.events import Event, canonical_json, chain, event_after, verify_chain


def log_of(count: int) -> tuple[Event, ...]:
    events: list[Event] = []
    for number in range(1, count + 1):
        last = events[-1] if events else None
        events.append(
            event_after(last, "reading", {"value": number / 3}, time=number, engine_version="1")
        )
    return tuple(events)


def test_canonical_json_has_one_text_for_equal_values() -> None:
    assert canonical_json({"b": 1, "a": [True, None, "Ω"]}) == '{"a":[true,null,"Ω"],"b":1}'
    assert canonical_json({"a": (1, 2)}) == canonical_json({"a": [1, 2]})


def test_integers_and_floats_stay_apart() -> None:
    assert canonical_json([1, 1.0, 1e16, -0.0]) == "[1,1.0,1e+16,-0.0]"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused_with_its_place(value: float) -> None:
    with pytest.raises(MisuseError, match=r"payload\.pins\[1\]\.value is"):
        canonical_json({"pins": [{"value": 0.4}, {"value": value}]})


@pytest.mark.parametrize(
    "value", [{1: 2}, {"a": object()}, {"a": b"x"}, {"a": "\ud800"}, {"a": {2}}]
)
def test_what_json_can_not_hold_is_refused(value: dict[str, object]) -> None:
    with pytest.raises(MisuseError):
        canonical_json(value)  # type: ignore[arg-type]


def test_a_payload_that_holds_itself_is_refused() -> None:
    value: dict[str, object] = {}
    value["again"] = value
    with pytest.raises(MisuseError, match="JSON"):
        canonical_json(value)  # type: ignore[arg-type]


def test_the_hash_is_the_sha256_of_the_canonical_json_of_all_the_rest() -> None:
    event = event_after(
        None, "reading", {"pin": "J4.12", "value": 0.452}, time=5, engine_version="0.1.0"
    )
    text = (
        '{"engine_version":"0.1.0","kind":"reading","number":1,"pack_hash":"",'
        '"payload":{"pin":"J4.12","value":0.452},"previous":"","schema_version":1,'
        '"supersedes":null,"time":5.0}'
    )
    assert event.hash == hashlib.sha256(text.encode()).hexdigest()
    # printf '%s' "$text" | sha256sum  (GNU coreutils)
    assert event.hash == "b252b1dbe12d83853daff82329813a21bd715a7da9e2b5ea9ff2e6f91ca197eb"


def test_a_payload_can_not_be_changed_behind_its_hash() -> None:
    payload = {"pins": ["J4.12"]}
    event = event_after(None, "reading", payload, time=0, engine_version="1")
    payload["pins"].append("J4.13")
    event.payload["pins"].append("J4.14")
    assert event.payload == {"pins": ["J4.12"]}


@pytest.mark.parametrize("time", [math.nan, math.inf])
def test_a_time_that_is_none_is_refused(time: float) -> None:
    with pytest.raises(MisuseError, match="seconds since the epoch"):
        event_after(None, "reading", {}, time=time, engine_version="1")


def test_an_event_needs_a_kind() -> None:
    with pytest.raises(MisuseError, match="kind"):
        event_after(None, " ", {}, time=0, engine_version="1")


def test_a_whole_chain_has_no_finding() -> None:
    assert verify_chain(()) is None
    assert verify_chain(log_of(4)) is None


def test_a_changed_event_is_found_and_what_is_before_it_is_good() -> None:
    events = log_of(5)
    forged = replace(events[2], payload_json='{"value":0.9}')
    finding = verify_chain((*events[:2], forged, *events[3:]))
    assert finding is not None
    assert finding.where.name == "event 3"
    assert "do not match its hash" in finding.what
    assert "events 1 to 2 are good" in finding.remedy


def test_a_forged_event_with_a_fresh_hash_breaks_the_next_one() -> None:
    events = log_of(4)
    forged = event_after(events[0], "reading", {"value": 9.0}, time=2, engine_version="1")
    finding = verify_chain((events[0], forged, *events[2:]))
    assert finding is not None
    assert finding.where.name == "event 3"


def test_a_missing_event_is_found() -> None:
    events = log_of(4)
    finding = verify_chain((events[0], *events[2:]))
    assert finding is not None
    assert finding.what == "event 3 stands where event 2 should be"


def test_an_event_with_a_time_that_is_no_number_is_found() -> None:
    finding = verify_chain((replace(log_of(1)[0], time=math.nan),))
    assert finding is not None
    assert "not readable" in finding.what
    assert "no event before it" in finding.remedy


def test_chain_links_contents_from_elsewhere_afresh() -> None:
    events = log_of(4)
    relinked = chain(events[1:])
    assert verify_chain(relinked) is None
    assert [event.payload for event in relinked] == [event.payload for event in events[1:]]
    assert chain(events) == events
