"""What an order leaves to judgement: by our inference, and by habit alone."""

from __future__ import annotations

from diagnosis_cases import TABLES, pannier, probe, small_board, work

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.acts import DONE, FAILS, FINISHED, Check, Move, Refresh
from nextprobe.diagnosis.options import TERMINAL, acts_of
from nextprobe.planning import best_plan
from nextprobe.trials.ready import Shelf
from nextprobe.trials.strategies import FixedOrder, Habit, StaticOrder, Weighing
from nextprobe.trials.strategies.rules import first_repair, offered

INTAKE = Shelf(pannier(), small_board(), tables=TABLES).case("scanner")


USELESS = {Check: FAILS, Refresh: FINISHED}
"""What acts show where nothing that is done helps."""


def on_the_net(case: Case, point: str) -> set[str]:
    """Return the work at parts that have a pin on the net of a point."""
    board = case.brief.board
    assert board is not None
    near = {part.reference for part, _ in board.parts_on(board.net_of(point))}
    return {repair.id for repair in case.model.work if repair.place.partition(".")[0] in near}


ODD = "J1.1"
"""Where a protection diode stands, among other parts."""


def led(judgement: Habit | Weighing, case: Case) -> str | None:
    return judgement.led(case, offered(case))


def test_habit_works_on_the_net_that_reads_oddly_three_times_at_most() -> None:
    case, done = INTAKE.after(probe(ODD, 0.0)), []
    while (step := led(Habit(), case)) is not None:
        done.append(step)
        case = case.after(work(*named(case, step)))
    assert done
    assert len(done) == len(set(done)) <= 3
    assert set(done) <= on_the_net(case, ODD)


def named(case: Case, step: str) -> tuple[str, str]:
    repair = case.model.work_by_id[step]
    return repair.work, repair.place


def test_habit_is_not_led_by_what_reads_as_on_a_good_board() -> None:
    usual = INTAKE.usual(ODD, INTAKE.problem.probing.touches[f"probe:{ODD}"].setup).healthy
    assert isinstance(usual, float)
    assert led(Habit(), INTAKE.after(probe(ODD, usual))) is None
    assert led(Habit(), INTAKE) is None


def test_habit_ends_with_what_was_planned_at_the_intake_whatever_was_seen_since() -> None:
    plan = best_plan(INTAKE.problem.plan_table(INTAKE.situation)).order
    first = first_repair(plan, offered(INTAKE))
    assert first is not None
    odd = INTAKE.after(probe(ODD, 0.0))
    assert Habit().rest(odd, offered(odd)) == first
    assert Weighing().rest(odd, offered(odd)) != first


def test_an_order_without_inference_gives_up_once_its_plan_is_done() -> None:
    case, step, taken = INTAKE, "", []
    for _ in range(40):
        step = StaticOrder((), judgement=Habit()).choose(case)
        if step in TERMINAL:
            break
        taken.append(step)
        acts = acts_of(case.model, case.situation, step)
        case = case.after(*(Move(act, USELESS.get(type(act), DONE)) for act in acts))
    assert step in TERMINAL
    assert len(taken) == len(set(taken)) > 2


def test_our_inference_follows_the_suspect_that_a_surprise_makes_lead() -> None:
    odd = INTAKE.after(probe(ODD, 0.0))
    assert odd.suspects(1)[0].key == "short:D1"
    step = led(Weighing(), odd)
    assert step is not None
    assert named(odd, step)[1] == "D1"
    assert led(Weighing(), INTAKE) is None


def test_the_trade_s_order_weighs_only_where_it_is_told_to() -> None:
    odd = INTAKE.after(probe("J1.3", 0.0), probe(ODD, 0.0))
    plain, informed = FixedOrder().choose(odd), FixedOrder(Weighing()).choose(odd)
    assert plain == led(Habit(), odd)
    assert informed == led(Weighing(), odd)
