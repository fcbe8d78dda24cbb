"""The rules that every strategy plays by: what is offered, how a job ends, when it is given up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Protocol

from nextprobe.board import Reading
from nextprobe.diagnosis.acts import ORIGINAL, WORKS, Check, Fit, Work
from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.diagnosis.options import CLOSE, DECLINE, ESCALATE, VERIFY
from nextprobe.diagnosis.running import NORMAL, bin_of
from nextprobe.planning import Option, best_plan, option_of

Offered = Mapping[str, Option]


class Strategy(Protocol):
    """Chooses an option id for a case."""

    name: str

    def choose(self, case: Case) -> str:
        """Return the id of the option to take next."""
        ...


def offered(case: Case) -> dict[str, Option]:
    """Return what may be done now, by id; nobody may do anything else."""
    return {option.id: option for option in case.problem.options(case.situation)}


def settled(case: Case, open_now: Offered) -> str | None:
    """Return what has to come next whatever the strategy; None if that is for it to say.

    What works is verified and handed over. A verification looks several times, and a check itself
    errs once in a while: one that fails is checked once more. A module whose original has failed
    again after its replacement worked is proven bad: the replacement goes back in.
    """
    if case.situation.working:
        return _finishing(open_now) or giving_up(case, open_now)
    again = [f"check:{slug(case.brief.complaint)}"] if _verification_failed(case) else []
    proven = [f"trial:{slug(slot)}:fit" for slot in proven_slots(case)]
    return first_of([*again, *proven], open_now)


def _verification_failed(case: Case) -> bool:
    act = case.moves[-1].act if case.moves else None
    return isinstance(act, Check) and act.function == case.brief.complaint and act.times > 1


def _finishing(open_now: Offered) -> str | None:
    refits = [name for name in open_now if name.endswith(":refit")]
    return first_of([VERIFY, CLOSE, *refits], open_now)


def giving_up(case: Case, open_now: Offered) -> str:
    """Return the cheaper way to give a job up."""
    costs = case.brief.pack.costs
    ways = sorted([(costs.escalation, ESCALATE), (costs.lost_job, DECLINE)])
    return first_of([name for _, name in ways], open_now) or ESCALATE


def first_of(wanted: Iterable[str], open_now: Offered) -> str | None:
    """Return the first of some options that is offered."""
    return next((name for name in wanted if name in open_now), None)


def follow_plan(case: Case, open_now: Offered) -> str:
    """Return the first step of the best plan of repairs, or give up where none pays."""
    plan = best_plan(case.problem.plan_table(case.situation))
    return first_repair(plan.order, open_now) or giving_up(case, open_now)


def first_repair(order: Iterable[str], open_now: Offered) -> str | None:
    """Return the first step of a plan that may end the job; runs only inform.

    A plan holds no work that crosses a limit; of all work only the likeliest is offered.
    """
    steps = [option_of(name) for name in order if not name.startswith("run:")]
    return next((name for name in steps if name in open_now or name.startswith("work:")), None)


def proven_slots(case: Case) -> list[str]:
    """Return modules whose replacement worked before the original failed once more."""
    fitted = dict.fromkeys(case.brief.pack.modules, ORIGINAL)
    worked: set[str] = set()
    proven: set[str] = set()
    for move in case.moves:
        if isinstance(move.act, Fit):
            fitted[move.act.slot] = move.act.instance
        if not isinstance(move.act, Check) or move.act.function != case.brief.complaint:
            continue
        away = {slot for slot, instance in fitted.items() if instance != ORIGINAL}
        proven = proven - away if move.result == WORKS else (proven | worked) - away
        worked = worked | away if move.result == WORKS else worked - away
    return sorted(proven)


def not_refitted(case: Case) -> list[str]:
    """Return modules that are replaced now and whose original was never tried again."""
    back = {
        move.act.slot
        for move in case.moves
        if isinstance(move.act, Fit) and move.act.instance == ORIGINAL
    }
    fitted = case.situation.configuration.fitted.items()
    return [slot for slot, instance in fitted if instance != ORIGINAL and slot not in back]


def swapped(case: Case, slot: str) -> bool:
    """Tell whether a module has been replaced at some time."""
    fits = [move.act for move in case.moves if isinstance(move.act, Fit)]
    return any(act.slot == slot and act.instance != ORIGINAL for act in fits)


def surprised(case: Case) -> bool:
    """Tell whether the last reading was not as expected, and nothing was repaired since."""
    for place, move in reversed(list(enumerate(case.moves))):
        if isinstance(move.act, Work):
            return False
        if move.reading is not None:
            return is_odd(case, move.reading, place)
    return False


def is_odd(case: Case, reading: Reading, place: int = -1) -> bool:
    """Tell whether a reading is not as expected of a good board, by what this one has shown.

    Parameters
    ----------
    case : Case
    reading : Reading
    place : int
        After how many moves it was taken; after all of them if left out.
    """
    expected = case.expected(reading.point, reading.setup, place)
    return expected is not None and bin_of(expected, reading.value) != NORMAL
