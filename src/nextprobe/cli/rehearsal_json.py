"""A rehearsal as plain data: what ``rehearse --json`` prints."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite
from typing import Any

from nextprobe.trials.coverage import Coverage
from nextprobe.trials.pit import Uniformity
from nextprobe.trials.reliability import Reliability
from nextprobe.trials.report import Report
from nextprobe.trials.score import Gap, Mean, Score


def report_data(report: Report) -> dict[str, Any]:
    """Return the measures as plain data; money in the pack's currency, times in minutes."""
    return {
        "devices": report.devices,
        "with_several_faults": report.several,
        "strategies": {
            name: _score(score, report.differences.get(name))
            for name, score in report.scores.items()
        },
        **_gap("gap", report.gap, report.gap_from),
        **_gap("informed_gap", report.informed_gap, report.informed_gap_from),
        "calibration": _calibration(report),
        "pit": _pit(report),
        "intervals": {mode: _coverage(found) for mode, found in report.intervals.items()},
    }


def _gap(name: str, gap: Gap | None, static: str) -> dict[str, Any]:
    known = gap is not None and isfinite(gap.low) and isfinite(gap.high)
    return {
        f"{name}_closed": None if gap is None else gap.value,
        f"{name}_ci95": [gap.low, gap.high] if gap is not None and known else None,
        f"{name}_from": static or None,
    }


def _score(score: Score, dearer: Mean | None) -> dict[str, Any]:
    return {
        "mean_cost": score.cost.value,
        "ci95": _interval(score.cost),
        "mean_minutes": score.minutes.value,
        "minutes_ci95": _interval(score.minutes),
        "mean_elapsed_minutes": score.elapsed_minutes.value,
        "mean_steps": score.steps,
        "right": score.right.value,
        "right_ci95": [score.right.low, score.right.high],
        "wrong_repairs": score.wrong.count,
        "comebacks": score.comebacks,
        "declined": score.declined,
        "escalated": score.escalated,
        "sold_in_vain": score.sold_in_vain,
        "parts_wasted": score.parts_wasted,
        "wiped": score.wiped,
        "dearer_than_nextprobe": None if dearer is None else dearer.value,
        "dearer_ci95": None if dearer is None else _interval(dearer),
    }


def _interval(mean: Mean) -> list[float]:
    return [mean.low, mean.high]


def _calibration(report: Report) -> dict[str, Any] | None:
    if report.overall is None:
        return None
    by_name = {name: _reliability(found) for name, found in report.by_checkpoint.items()}
    leading = {name: _reliability(found) for name, found in report.leading.items()}
    return {**_reliability(report.overall), "checkpoints": by_name, "leading": leading}


def _reliability(found: Reliability) -> dict[str, Any]:
    curve = [{"chance": p, "happened": y, "n": n} for p, y, n in found.curve]
    return {**asdict(found), "ece_band": list(found.ece_band), "curve": curve}


def _pit(report: Report) -> dict[str, Any] | None:
    if report.readings is None or report.first_readings is None:
        return None
    return {**_places(report.readings), "first_of_each_device": _places(report.first_readings)}


def _coverage(found: Coverage) -> dict[str, Any]:
    covered = found.covered
    return {
        "n": covered.total,
        "covered": covered.value,
        "covered_ci95": [covered.low, covered.high],
        "median_half_width": found.half_width,
    }


def _places(found: Uniformity) -> dict[str, Any]:
    return {**asdict(found), "histogram": list(found.histogram)}
