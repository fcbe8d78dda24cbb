"""What to beware of at a step, on the way into the device and at its checks included."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from nextprobe.diagnosis.acts import Check
from nextprobe.diagnosis.costs import access_of, depth_of, ways_in
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import CLOSE, TERMINAL, acts_of
from nextprobe.diagnosis.situation import Situation
from nextprobe.planning import Option


def with_all_cautions(model: Model, situation: Situation, option: Option) -> Option:
    """Return an option with the cautions of every motion that it takes, each once."""
    found = (
        *_before(model, situation, option),
        *option.cautions,
        *_at_checks(model, situation, option),
    )
    return replace(option, cautions=tuple(dict.fromkeys(found)))


def _before(model: Model, situation: Situation, option: Option) -> Iterator[str]:
    """Yield the cautions of taking the device apart, or of putting it together."""
    pack = model.pack
    if option.id == CLOSE:
        yield from pack.work["close"].cautions
    if option.id in TERMINAL:
        return
    acts = acts_of(model, situation, option.id)
    deepest = max(acts, key=lambda act: depth_of(pack, act), default=None)
    access = pack.readings.access if deepest is None else access_of(pack, deepest)
    for name in ways_in(situation.configuration, access):
        yield from pack.work[name].cautions


def _at_checks(model: Model, situation: Situation, option: Option) -> Iterator[str]:
    """Yield the cautions of the functions that are tried out, such as covering a laser."""
    for act in acts_of(model, situation, option.id):
        if isinstance(act, Check):
            yield from model.pack.functions[act.function].cautions
