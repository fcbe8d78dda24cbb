"""A rehearsal as tables for people."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import isfinite
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from nextprobe.board import MeterMode, say_value
from nextprobe.cli.tables import heading, line, table
from nextprobe.trials.reliability import Reliability
from nextprobe.trials.report import Report
from nextprobe.trials.score import Gap, Mean, Score
from nextprobe.trials.strategies.tuning import Tuned

if TYPE_CHECKING:
    from rich.console import RenderableType

WORDS = {
    "nextprobe": "nextprobe",
    "fixed_order": "the trade's order",
    "best_static": "best static order",
    "informed_order": "informed trade's order",
    "informed_static": "informed static order",
    "probe_all": "probe everything first",
    "p_over_c": "p/c order",
    "information_gain": "information gain",
    "perfect_knowledge": "perfect knowledge",
}
"""Strategies as they are called in tables and pictures."""

_TIMES: dict[str, Callable[[Score], str]] = {
    "work [min]": lambda found: f"{found.minutes.value:.0f}",
    "until done [min]": lambda found: f"{found.elapsed_minutes.value:.0f}",
    "steps": lambda found: f"{found.steps:.1f}",
}
_COUNTS: dict[str, Callable[[Score], int]] = {
    "wrong": lambda found: found.wrong.count,
    "back": lambda found: found.comebacks,
    "in vain": lambda found: found.parts_wasted,
    "wiped": lambda found: found.wiped,
    "declined": lambda found: found.declined,
    "handed on": lambda found: found.escalated,
}


def report_tables(
    report: Report, currency: str, orders: Mapping[str, Tuned]
) -> Iterator[RenderableType]:
    """Show the measures."""
    yield from _costs(report, currency)
    yield from _counts(report)
    yield from _gap(report)
    yield from _orders(orders, currency)
    yield from _calibration(report)
    yield from _readings(report)


def _columns(*titles: str) -> Table:
    """Return a table of figures, in which no column is broken."""
    made = table(*titles, numbers=range(1, len(titles)))
    made.columns[0].no_wrap = True
    return made


def _costs(report: Report, currency: str) -> Iterator[RenderableType]:
    yield heading(f"{report.devices} simulated devices, {report.several} with several faults")
    shown = _columns("", f"job [{currency}]", f"dearer [{currency}]", "right repair [%]")
    for name, score in report.scores.items():
        difference = report.differences.get(name)
        behind = _with_width(difference, "+") if difference is not None else ""
        right = [100.0 * share for share in (score.right.value, score.right.low, score.right.high)]
        interval = "{:.0f} ({:.0f} to {:.0f})".format(*right)
        shown.add_row(WORDS[name], _with_width(score.cost), behind, interval)
    yield shown
    yield line("± and intervals at 95 %; dearer: than nextprobe, device by device.")


def _with_width(mean: Mean, sign: str = "") -> str:
    return f"{mean.value:{sign}.1f} ± {mean.half_width:.1f}"


def _counts(report: Report) -> Iterator[RenderableType]:
    times, counts = _columns("", *_TIMES), _columns("jobs", *_COUNTS)
    for name, score in report.scores.items():
        times.add_row(WORDS[name], *(say(score) for say in _TIMES.values()))
        counts.add_row(WORDS[name], *(str(count(score)) for count in _COUNTS.values()))
    yield times
    yield counts
    yield line(
        "wrong: handed over without a right repair; back: the complaint is not gone; in vain: good "
        "modules sold."
    )


def _gap(report: Report) -> Iterator[RenderableType]:
    for gap, static in (
        (report.gap, report.gap_from),
        (report.informed_gap, report.informed_gap_from),
    ):
        if gap is not None:
            yield line(
                f"Of what separates {WORDS[static]} from perfect knowledge, nextprobe closes "
                f"{100 * gap.value:.0f} % ({_within(gap)})."
            )


def _within(gap: Gap) -> str:
    if isfinite(gap.low) and isfinite(gap.high):
        return f"95 %: {100 * gap.low:.0f} to {100 * gap.high:.0f} %"
    return "too few devices for an interval"


def _orders(orders: Mapping[str, Tuned], currency: str) -> Iterator[RenderableType]:
    if not orders:
        return
    yield Text()
    yield heading("Best static orders")
    shown = table("complaint", "order", "devices", f"there [{currency}]", numbers=(2, 3))
    for complaint, tuned in orders.items():
        words = ", ".join((*tuned.order, "repairs that pay"))
        shown.add_row(Text(complaint), words, str(tuned.devices), f"{tuned.mean_cost:.1f}")
    yield shown
    yield line("Tuned on devices of seeds of their own, which are never scored.")


def _calibration(report: Report) -> Iterator[RenderableType]:
    if report.overall is None:
        return
    yield Text()
    yield heading("Do chances come true?")
    every = {**report.by_checkpoint, "all": report.overall}
    for what, by_name in (("all faults", every), ("leading suspect", report.leading)):
        shown = _columns(what, "error [%]", "95 % band", "log score", "skill", "forecasts")
        for name, found in by_name.items():
            shown.add_row(name, *_reliability(found))
        yield shown
    yield line(
        "Error: root mean square of chance less share that came true, debiased; log score in nat; "
        "skill: Brier score against the chances at intake."
    )


def _reliability(found: Reliability) -> list[str]:
    low, high = found.ece_band
    skill = "" if found.brier_skill is None else f"{found.brier_skill:.3f}"
    return [
        f"{100 * found.ece_debiased:.2f}",
        f"{100 * low:.2f} to {100 * high:.2f}",
        f"{found.log_score:.4f}",
        skill,
        str(found.n),
    ]


def _readings(report: Report) -> Iterator[RenderableType]:
    every, first = report.readings, report.first_readings
    if every is None or first is None:
        return
    yield Text()
    yield heading("Do readings lie where they were predicted?")
    shown = _columns("tenth of the prediction", *map(str, range(1, 11)))
    shown.add_row("readings", *(str(count) for count in every.histogram))
    yield shown
    yield line(
        f"{every.n} readings; of the first of each of {first.n} devices: chi-squared "
        f"{first.chi_squared:.1f} with 9 degrees of freedom (p {first.p_value:.3f}), greatest "
        f"distance from even {first.distance:.3f} (5 % exceed {first.critical_distance:.3f})."
    )
    for mode, found in report.intervals.items():
        held = [100.0 * each for each in (found.covered.value, found.covered.low,
                                          found.covered.high)]  # fmt: skip
        yield line(
            f"{mode}: 95 % intervals held {found.covered.total} numbers in "
            f"{held[0]:.0f} % ({held[1]:.0f} to {held[2]:.0f}); half their width is "
            f"{say_value(found.half_width, MeterMode(mode))} in the median."
        )
