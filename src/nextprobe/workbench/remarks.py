"""What a technician should hear unasked: weak trials, two explanations, a model that fails."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import BenchSetup, Fault, FaultKind, Reading, say_value
from nextprobe.diagnosis import Act, Case, Check, Fit, Refresh, Work
from nextprobe.diagnosis.acts import FAILS, ORIGINAL, PATIENT
from nextprobe.diagnosis.acts import Probe as ProbeAct
from nextprobe.diagnosis.expectation import Expectations
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.options import gentle_refresh
from nextprobe.diagnosis.running import BIN_WORDS, bin_chances, bin_of
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation
from nextprobe.diagnosis.suspects import Suspect, family_chances
from nextprobe.planning import Option
from nextprobe.workbench.meanings import Prospects, prospects
from nextprobe.workbench.phrases import say_share

FloatArray = NDArray[np.float64]

_WORTH_NAMING = 0.05
_UNEXPLAINED = 0.05
# What is not in the list leads where it is this many times as likely as the next.
_LEADS = 2.0
# From here on the bound on sets that are not listed says nothing.
_VACUOUS = 0.5
# Kass and Raftery 1995, p. 777 (from memory): not worth more than a bare mention.
_BARE_MENTION = 3.0
_FIRMWARE = (FaultKind.RECOGNITION_STALE, FaultKind.FIRMWARE_CORRUPT)


@dataclass(frozen=True)
class Remark:
    """A sentence with the numbers behind it.

    Parameters
    ----------
    kind : str
        ``weak trial``, ``two explanations``, ``unlisted leads``, ``several faults`` or
        ``unexplained reading``.
    text : str
    numbers : mapping of str to float
    """

    kind: str
    text: str
    numbers: Mapping[str, float] = field(default_factory=dict, hash=False)


def remarks(case: Case) -> tuple[Remark, ...]:
    """Return what is worth saying of a job as it stands."""
    found = case.suspects()
    return (
        *_after_a_weak_trial(case, found),
        *_two_explanations(case, found),
        *_unlisted_leads(found),
        *_sets_not_listed(case),
        *_unexplained_readings(case),
    )


def before_the_trial(case: Case, acts: Sequence[Act], found: Prospects) -> Iterator[Remark]:
    """Say how little a trial would tell of a module that is not recognised in it.

    Parameters
    ----------
    case : Case
    acts : sequence of Act
        Of the step.
    found : Prospects
        Of the step.
    """
    for act in acts:
        if isinstance(act, Fit) and act.instance != ORIGINAL and _unknown(case, act):
            if any(isinstance(other, Refresh) for other in acts):
                return
            key = Fault(FaultKind.MODULE_BAD, act.slot).family
            here = found.factor(FAILS, key)
            if here is not None:
                yield from _weak(case, act.slot, here, "would leave")


def _unknown(case: Case, act: Fit) -> bool:
    """Tell whether an instance would not be recognised without a refresh."""
    late = case.model.pack.modules[act.slot].recognised == "after refresh"
    return late and (act.slot, act.instance) not in case.situation.configuration.recognised


def _weak(case: Case, slot: str, here: float, verb: str) -> Iterator[Remark]:
    if not 1.0 / _BARE_MENTION <= here <= _BARE_MENTION:
        return
    title = case.model.pack.modules[slot].title
    text = (
        f"A known-good {title} that stays dead is weak evidence: it is not recognised before a "
        f"refresh with it fitted. Staying dead {verb} the odds of '{title} is bad' {_by(here)}"
    )
    numbers = {"factor": here}
    after = _factor_after_refresh(case, slot)
    if after is not None:
        text += f"; staying dead after such a refresh would multiply them by {after:.2g}"
        numbers["factor after refresh"] = after
    yield Remark("weak trial", f"{text}.", numbers)


def _by(factor: float) -> str:
    """Say by what the odds are multiplied."""
    return "as they are" if 0.95 <= factor <= 1.05 else f"at {factor:.2g} times what they were"


def _factor_after_refresh(case: Case, slot: str) -> float | None:
    """Return what the odds of a bad module would be multiplied by if it failed after a refresh."""
    if gentle_refresh(case.model.pack) is None:
        return None
    fitted = case.situation.configuration.fitted.get(slot, ORIGINAL) != ORIGINAL
    step = f"trial:{slot.replace(' ', '-')}:{'refresh' if fitted else 'fit-refresh'}"
    branches = case.problem.outcomes(case.situation, Option(step, step))
    key = Fault(FaultKind.MODULE_BAD, slot).family
    return prospects(case, branches).factor(FAILS, key)


def _after_a_weak_trial(case: Case, found: Sequence[Suspect]) -> Iterator[Remark]:
    """Say so where the last check failed with a module that is not recognised yet."""
    configuration = case.situation.configuration
    if case.situation.working is not False:
        return
    for slot in case.model.slots:
        instance = configuration.fitted.get(slot, ORIGINAL)
        if instance == ORIGINAL or not _unknown(case, Fit(slot, instance)):
            continue
        key = Fault(FaultKind.MODULE_BAD, slot).family
        factor = _factor_of_last_check(case, key)
        if factor is not None and any(suspect.key == key for suspect in found):
            yield from _weak(case, slot, factor, "left")


def _factor_of_last_check(case: Case, key: str) -> float | None:
    """Return what the last check of the complaint did to the odds of a suspect."""
    checks = [
        place
        for place, move in enumerate(case.moves)
        if isinstance(move.act, Check) and move.act.function == case.model.complaint
    ]
    if not checks:
        return None
    place = checks[-1]
    before = _branch_chances(case, case.trail[place][1])
    after = _branch_chances(case, case.trail[place + 1][1])
    return _odds(after[key]) / _odds(before[key]) if key in before else None


def _branch_chances(case: Case, situation: Situation) -> dict[str, float]:
    names, _ = case.model.families
    chances = family_chances(case.model, situation)
    return dict(zip(names, chances.tolist(), strict=True))


def _odds(probability: float) -> float:
    return max(probability, 1e-300) / max(1.0 - probability, 1e-12)


def _two_explanations(case: Case, found: Sequence[Suspect]) -> Iterator[Remark]:
    """Say so where a bad module and stale firmware both explain that it works now."""
    if not case.situation.working:
        return
    configuration = case.situation.configuration
    live = {suspect.key: suspect for suspect in found if suspect.probability >= _WORTH_NAMING}
    for slot in case.model.slots:
        instance = configuration.fitted.get(slot, ORIGINAL)
        bad = live.get(Fault(FaultKind.MODULE_BAD, slot).family)
        stale = [live[key] for key in _firmware_keys(case, slot) if key in live]
        if instance != ORIGINAL and configuration.refreshed and bad is not None and stale:
            yield _both(case, slot, bad, stale[0])


def _firmware_keys(case: Case, slot: str) -> list[str]:
    """Return the suspects that a refresh cures, for one module."""
    return [
        item.fault.family
        for item in case.model.listed
        if item.fault.kind in _FIRMWARE and item.fault.place in (slot, "firmware")
    ]


def _both(case: Case, slot: str, bad: Suspect, stale: Suspect) -> Remark:
    module, currency = case.model.pack.modules[slot], case.model.pack.costs.currency
    text = (
        f"It works with another {module.title} after a refresh. Both '{bad.title}' "
        f"({say_share(bad.probability)}) and '{stale.title}' ({say_share(stale.probability)}) "
        f"explain this: refitting the original tells them apart, and may save the customer "
        f"{module.price:.2f} {currency}."
    )
    numbers = {"module bad": bad.probability, "firmware": stale.probability}
    return Remark("two explanations", text, numbers)


def _unlisted_leads(found: Sequence[Suspect]) -> Iterator[Remark]:
    leading, second = (*found[:2], None, None)[:2]
    if leading is None or not leading.key.startswith(f"{FaultKind.UNLISTED.value}:"):
        return
    if leading.probability > _LEADS * (second.probability if second is not None else 0.0):
        text = (
            f"The likeliest explanation is a fault that is not in the list "
            f"({say_share(leading.probability)}): the model does not explain this board. Look "
            f"for what it leaves out, check the readings, or hand the job on."
        )
        yield Remark("unlisted leads", text, {"probability": leading.probability})


def _sets_not_listed(case: Case) -> Iterator[Remark]:
    """Say what sets of several faults that are not listed may hold, where such sets count."""
    estimate, bound = case.unlisted_sets
    if not case.chosen.sets:
        return
    text = (
        f"Several faults at once explain what was seen. Sets that are not listed hold "
        f"{say_share(estimate)} of the belief by an estimate; "
    )
    text += (
        "the strict bound says nothing here."
        if bound > _VACUOUS
        else f"they can not hold more than {say_share(bound)}."
    )
    yield Remark("several faults", text, {"estimate": estimate, "bound": bound})


def _unexplained_readings(case: Case) -> Iterator[Remark]:
    """Name the readings that what is believed now does not predict.

    The chance of such a reading is taken over the listed suspects as they stand at the end (a
    posterior predictive check; Gelman, Meng and Stern 1996, Statistica Sinica 6, p. 733, from
    memory).
    """
    expectations = case.model.expectations
    if expectations is None:
        return
    for reading, situation in _last_readings(case, expectations):
        expected = expectations.at(reading.point, reading.setup)
        word = bin_of(expected, reading.value)
        chance = _chance(case, situation, bin_chances(expected)[:, BIN_WORDS.index(word)])
        if chance < _UNEXPLAINED:
            yield _unexplained(reading, word, chance)


def _chance(case: Case, situation: Situation, by_row: FloatArray) -> float:
    """Return the chance of something under the listed suspects; 1 if there are none."""
    columns = situation.ensemble.columns
    unlisted = case.model.sets.any_member(case.model.of_kind(FaultKind.UNLISTED))
    listed = ~unlisted[columns[HYPOTHESIS]]
    weights = situation.ensemble.probabilities * listed
    rows = active_sets(case.model, situation.ensemble)
    total = float(weights.sum())
    return float(weights @ by_row[rows]) / total if total > 0.0 else 1.0


def _last_readings(case: Case, expectations: Expectations) -> Iterator[tuple[Reading, Situation]]:
    """Yield the last reading of each point, with the situation before the next piece of work."""
    waiting: dict[tuple[str, BenchSetup], Reading] = {}
    for place, move in enumerate(case.moves):
        if isinstance(move.act, Work):
            yield from ((reading, case.trail[place][1]) for reading in waiting.values())
            waiting.clear()
        own = isinstance(move.act, ProbeAct) and move.act.device == PATIENT
        reading = move.reading
        if own and reading is not None and expectations.predicts(reading.point, reading.setup):
            waiting[reading.point, reading.setup] = reading
    yield from ((reading, case.situation) for reading in waiting.values())


def _unexplained(reading: Reading, word: str, chance: float) -> Remark:
    shown = say_value(reading.value, reading.setup.mode)
    text = (
        f"No suspect explains what {reading.point} reads ({shown}, {word}): measure it again. If "
        f"it stays so, the model does not explain this board."
    )
    return Remark("unexplained reading", text, {"chance": chance})
