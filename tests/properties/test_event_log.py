"""Laws of the event log that hold for any payload and any history."""

from __future__ import annotations

import json
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from nextprobe.errors import MisuseError
from nextprobe.store import MemoryStore
from nextprobe.workbench.corrections import WITHDRAWN
from nextprobe.workbench.events import canonical_json, chain, intact, verify_chain
from nextprobe.workbench.log import EventLog

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
floats = st.floats(allow_nan=False, allow_infinity=False)
scalars = st.none() | st.booleans() | st.integers() | floats | texts
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3)
)
payloads = st.dictionaries(texts, values, max_size=4)
moves = st.lists(st.tuples(st.booleans(), st.integers(1, 12)), max_size=12)


def exactly(value: object) -> object:
    """Make equality see types and the sign of zero."""
    if isinstance(value, dict):
        return {key: exactly(item) for key, item in value.items()}
    if isinstance(value, list):
        return [exactly(item) for item in value]
    return (type(value), value.hex() if isinstance(value, float) else value)


@given(payloads)
def test_a_payload_comes_back_exactly(payload: dict[str, object]) -> None:
    text = canonical_json(payload)  # type: ignore[arg-type]
    assert exactly(json.loads(text)) == exactly(payload)
    assert canonical_json(json.loads(text)) == text


@given(payloads)
def test_the_order_of_keys_does_not_matter(payload: dict[str, object]) -> None:
    backwards = dict(reversed(payload.items()))
    assert canonical_json(backwards) == canonical_json(payload)  # type: ignore[arg-type]


def any_log(history: list[tuple[bool, int]]) -> tuple[EventLog, dict[int, int | None]]:
    """Play a history of appends and corrections.

    Beside the log comes what stands in each original place, kept in the plainest way: number of
    the first event there → number of the event that stands there now, or None.
    """
    log = EventLog.start(MemoryStore(), "A", "started", {}, clock=lambda: 0.0)
    standing: dict[int, int | None] = {1: 1}
    tip = {1: 1}
    for withdraw, target in history:
        kind = WITHDRAWN if withdraw else "reading"
        place = next((place for place, number in tip.items() if number == target), None)
        if place is None or (withdraw and (place == 1 or standing[place] is None)):
            if target <= len(log.events()):
                refused(log, kind, target)
            number = log.append("reading", {"value": target}).number
            standing[number] = tip[number] = number
        else:
            number = log.append(kind, {}, supersedes=target).number
            tip[place] = number
            standing[place] = None if withdraw else number
    return log, standing


def refused(log: EventLog, kind: str, target: int) -> None:
    before = log.events()
    try:
        log.append(kind, {}, supersedes=target)
    except MisuseError:
        assert log.events() == before
    else:
        raise AssertionError(f"{kind} of event {target} should have been refused")


@given(moves)
def test_corrections_stand_in_the_place_of_what_they_correct(
    history: list[tuple[bool, int]],
) -> None:
    log, standing = any_log(history)
    expected = [number for _, number in sorted(standing.items()) if number is not None]
    assert [event.number for event in log.effective()] == expected


@given(moves)
def test_nothing_is_erased_and_the_chain_holds(history: list[tuple[bool, int]]) -> None:
    log, _ = any_log(history)
    assert [event.number for event in log.events()] == list(range(1, len(history) + 2))
    assert verify_chain(log.events()) is None
    assert chain(log.events()) == log.events()


@given(moves, st.data())
def test_any_change_to_any_event_is_found_there(
    history: list[tuple[bool, int]], data: st.DataObject
) -> None:
    events = any_log(history)[0].events()
    index = data.draw(st.integers(0, len(events) - 1))
    name = data.draw(
        st.sampled_from(["kind", "payload_json", "engine_version", "pack_hash", "previous", "hash"])
    )
    old = getattr(events[index], name)
    forged = replace(events[index], **{name: data.draw(texts.filter(lambda new: new != old))})
    tampered = (*events[:index], forged, *events[index + 1 :])
    finding = verify_chain(tampered)
    assert finding is not None
    assert finding.where.name == f"event {index + 1}"
    assert intact(tampered) == events[:index]
