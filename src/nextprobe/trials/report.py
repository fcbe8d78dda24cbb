"""The measures of a rehearsal, from the records of its devices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from nextprobe.errors import MisuseError
from nextprobe.trials.checkpoints import CHECKPOINTS
from nextprobe.trials.coverage import Coverage, coverage
from nextprobe.trials.outcome import Outcome
from nextprobe.trials.pit import Uniformity, one_each, uniformity
from nextprobe.trials.record import DeviceRecord
from nextprobe.trials.reliability import Reliability, Tally, reliability
from nextprobe.trials.score import Gap, Mean, Score, gap_with_interval, paired_difference, score
from nextprobe.trials.strategies import INFORMED, NEXTPROBE, PERFECT_KNOWLEDGE, STATIC


@dataclass(frozen=True)
class Report:
    """What a rehearsal has shown.

    Parameters
    ----------
    devices : int
    several : int
        Devices with more than one fault.
    scores : mapping of str to Score
        By strategy.
    differences : mapping of str to Mean
        By how much each other strategy is dearer than the advised one, device by device.
    gap : Gap or None
        Of what separates the static order from perfect knowledge, the share that is closed.
    gap_from : str
        Which static order that is: the cheapest on these very devices, which is in its favour;
        empty where there is none to compare with.
    informed_gap, informed_gap_from
        The same for the static orders that have our inference: what looking ahead adds to it.
    overall : Reliability or None
        Of all forecasts at all checkpoints.
    by_checkpoint, leading : mapping of str to Reliability
        Of all families of faults, and of the leading suspect alone.
    readings, first_readings : Uniformity or None
        Of all readings, and of the first of each device, which are independent.
    intervals : mapping of str to Coverage
        How often 95 % intervals held, by the mode of the meter.
    """

    devices: int
    several: int
    scores: Mapping[str, Score]
    differences: Mapping[str, Mean]
    gap: Gap | None
    gap_from: str
    informed_gap: Gap | None = None
    informed_gap_from: str = ""
    overall: Reliability | None = None
    by_checkpoint: Mapping[str, Reliability] = field(default_factory=dict)
    leading: Mapping[str, Reliability] = field(default_factory=dict)
    readings: Uniformity | None = None
    first_readings: Uniformity | None = None
    intervals: Mapping[str, Coverage] = field(default_factory=dict)


def report(records: Sequence[DeviceRecord]) -> Report:
    """Return the measures; the order of the records does not matter.

    Raises
    ------
    MisuseError
        If there are none.
    """
    if not records:
        raise MisuseError("there is nothing to score")
    records = sorted(records, key=lambda record: record.number)
    jobs = {name: [record.jobs[name] for record in records] for name in records[0].jobs}
    ours = jobs.get(NEXTPROBE)
    others = {name: theirs for name, theirs in jobs.items() if name != NEXTPROBE}
    scores = {name: score(found) for name, found in jobs.items()}
    static, informed = (_cheapest(scores, names) for names in (STATIC, INFORMED))
    places = [record.places for record in records]
    every = [place for found in places for place in found]
    judged = [record for record in records if record.marginals]
    return Report(
        len(records),
        sum(len(record.truth) > 1 for record in records),
        scores,
        {name: paired_difference(ours, theirs) for name, theirs in others.items()} if ours else {},
        _gap(jobs, static),
        static,
        _gap(jobs, informed),
        informed,
        reliability([_whole(record) for record in judged]) if judged else None,
        _by_checkpoint([record.marginals for record in judged]),
        _by_checkpoint([record.leading for record in judged]),
        uniformity(every) if every else None,
        uniformity(one_each(places)) if every else None,
        coverage([interval for record in records for interval in record.intervals]),
    )


def _cheapest(scores: Mapping[str, Score], names: Sequence[str]) -> str:
    played = [name for name in names if name in scores]
    return min(played, key=lambda name: scores[name].cost.value, default="")


def _gap(jobs: Mapping[str, Sequence[Outcome]], static: str) -> Gap | None:
    if not static or NEXTPROBE not in jobs or PERFECT_KNOWLEDGE not in jobs:
        return None
    return gap_with_interval(jobs[NEXTPROBE], jobs[static], jobs[PERFECT_KNOWLEDGE])


def _whole(record: DeviceRecord) -> Tally:
    first, *rest = record.marginals.values()
    return sum(rest, start=first)


def _by_checkpoint(found: Sequence[Mapping[str, Tally]]) -> dict[str, Reliability]:
    by_name = {name: [each[name] for each in found if name in each] for name in CHECKPOINTS}
    return {name: reliability(tallies) for name, tallies in by_name.items() if tallies}
