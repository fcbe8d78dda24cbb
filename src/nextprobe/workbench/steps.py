"""Next steps as records: what to do, what it costs, what may come of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from nextprobe.diagnosis import Act, Case, Check
from nextprobe.diagnosis.acts import WORKS, Refresh
from nextprobe.diagnosis.options import TERMINAL, acts_of
from nextprobe.packs.schema import Refresh as RefreshData
from nextprobe.planning import Option, Reason, Recommendation
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.move_json import act_to_json
from nextprobe.workbench.outcomes import answers, label_shown
from nextprobe.workbench.reasons import worded
from nextprobe.workbench.step_titles import STOP, step_title

ONE_READING = "a reading, as in 0.452 or OL"
ONE_CURRENT = "a current, as in 0.18 A or 4 mA"
_NEEDS = {"network": "a network", "charge": "enough charge", "passcode": "the passcode"}
MANY_READINGS = "readings by pin in order; stop at a surprise that two more touches confirm"


@dataclass(frozen=True)
class Branch:
    """Something that may come of a step.

    Parameters
    ----------
    label : str
        What is seen.
    probability : float
    then : str
        Id of the step that would follow; empty where the job ends or nobody has looked so far.
    cost : float or None
        Expected cost from there on [currency of the pack]; None where nobody has looked so far.
    title : str
        Of the step that would follow, for people; empty where nobody has looked so far.
    """

    label: str
    probability: float
    then: str = ""
    cost: float | None = None
    title: str = ""


@dataclass(frozen=True)
class StepRecord:
    """A step that could be taken next.

    Parameters
    ----------
    id : str
        Stable name.
    title : str
        One line for people.
    kind : str
        ``check``, ``look``, ``trial``, ``refresh``, ``work``, ``reading``, ``run`` or ``end``.
    recommended : bool
        Whether it is the first.
    cost : float
        Expected cost of the whole job if it is done next [currency of the pack].
    price : float
        Of the step alone, expected harm included [currency of the pack].
    attended_minutes, elapsed_minutes : float
        Time that somebody works on it, and until it is done [min].
    how : tuple of str
        What to do; the points of a run.
    cautions : tuple of str
        What to beware of.
    acts : tuple of mapping
        The same for machines; empty for an ending.
    answers : tuple of str
        What may be recorded.
    branches : tuple of Branch
        What may come of it.
    reasons : tuple of Reason
        Why it comes first; empty for the others.
    """

    id: str
    title: str
    kind: str
    recommended: bool
    cost: float
    price: float
    attended_minutes: float
    elapsed_minutes: float
    how: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    acts: tuple[Mapping[str, JsonValue], ...] = ()
    answers: tuple[str, ...] = ()
    branches: tuple[Branch, ...] = ()
    reasons: tuple[Reason, ...] = field(default=())


def step_records(case: Case, advice: Recommendation, most: int | None) -> tuple[StepRecord, ...]:
    """Return the steps of a recommendation as records, the recommended one first."""
    return tuple(_record(case, advice, place) for place in range(len(advice.alternatives[:most])))


def _record(case: Case, advice: Recommendation, place: int) -> StepRecord:
    ranked = advice.alternatives[place]
    option = ranked.option
    cost = case.problem.cost(case.situation, option)
    acts = acts_of_step(case, option.id)
    return StepRecord(
        option.id,
        option.title,
        option.kind,
        place == 0,
        ranked.cost,
        ranked.price,
        cost.attended / 60.0,
        cost.elapsed / 60.0,
        option.steps or tuple(_how(case, acts)),
        option.cautions,
        tuple(act_to_json(act) for act in acts),
        _answers(case, option, acts),
        branches_of(case, advice, option),
        worded(case, advice.reasons, option.id) if place == 0 else (),
    )


def _how(case: Case, acts: Sequence[Act]) -> Iterator[str]:
    """Yield how the firmware is refreshed, and how the check is made that ends what is done."""
    for act in acts:
        if isinstance(act, Refresh):
            yield from _how_to_refresh(case.model.pack.refreshes[act.name])
    if acts and isinstance(acts[-1], Check):
        yield f"Then check: {case.model.pack.functions[acts[-1].function].check.how}"


def _how_to_refresh(refresh: RefreshData) -> Iterator[str]:
    if refresh.how:
        yield refresh.how
    if refresh.needs:
        *others, last = [_NEEDS[need] for need in refresh.needs]
        yield f"It needs {', '.join(others) + ' and ' if others else ''}{last}."


def _title_after(case: Case, label: str, then: str) -> str:
    return "hand over" if then == STOP and label == WORKS else step_title(case, then)


def acts_of_step(case: Case, step: str) -> tuple[Act, ...]:
    """Return the acts of a step, those of a run and a reading included."""
    probing = case.problem.probing
    if step in probing.runs:
        run = probing.run_now(case.situation, step)
        return tuple(item.act() for item in (run.measurements if run is not None else ()))
    if step.startswith("probe:"):
        return (probing.measured(step).act(),)
    return acts_of(case.model, case.situation, step)


def _answers(case: Case, option: Option, acts: Sequence[Act]) -> tuple[str, ...]:
    if option.kind == "run":
        return (MANY_READINGS,)
    if option.kind == "current":
        return (ONE_CURRENT,)
    return (ONE_READING,) if option.kind == "reading" else answers(case, acts)


def branches_of(case: Case, advice: Recommendation, option: Option) -> tuple[Branch, ...]:
    """Return what may come of a step, with what would follow where that is known."""
    if option.id == advice.option.id:
        return tuple(
            Branch(
                label_shown(item.label),
                item.probability,
                item.then,
                item.cost,
                _title_after(case, item.label, item.then),
            )
            for item in advice.branches
        )
    if option.id in TERMINAL:
        return ()
    found = case.problem.outcomes(case.situation, option)
    return tuple(Branch(label_shown(branch.label), branch.probability) for branch in found)
