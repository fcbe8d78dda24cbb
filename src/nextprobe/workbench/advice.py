"""What a job advises: next steps, suspects, expectations, differences."""

from __future__ import annotations

from nextprobe.board import MeterMode
from nextprobe.diagnosis import LOOK_AHEADS
from nextprobe.workbench.differences import DifferenceRecord, differences
from nextprobe.workbench.expected import ExpectedReading, expected_reading
from nextprobe.workbench.explain import Explanation, explain
from nextprobe.workbench.meter_entry import known_point, mode_of
from nextprobe.workbench.overview import LogLine, Overview, log_line, overview
from nextprobe.workbench.reckoning import Reckoner, Reckoning
from nextprobe.workbench.remarks import Remark, remarks
from nextprobe.workbench.step_ids import known_step
from nextprobe.workbench.steps import StepRecord, step_records
from nextprobe.workbench.view import JobView
from nextprobe.workbench.words import SuspectRecord, suspect_record


class Adviser(JobView):
    """A job that can be asked."""

    def next_steps(self, most: int | None = 5, budget: int = LOOK_AHEADS) -> tuple[StepRecord, ...]:
        """Return what could be done next, the recommended step first; none once it has ended."""
        if self.so_far.closing is not None:
            return ()
        return step_records(self.case, self.recommend(budget), most)

    def suspects(self, most: int | None = 5, reasons: bool = True) -> tuple[SuspectRecord, ...]:
        """Return the suspects, likeliest first, with what moved them if `reasons` are wanted."""
        found = self.case.suspects(most)
        if not reasons:
            return tuple(suspect_record(suspect) for suspect in found)
        moved = self._reckoner().moved([suspect.key for suspect in found])
        return tuple(suspect_record(*each) for each in zip(found, moved, strict=True))

    def why_suspect(self, suspect: str, about: str = "") -> Reckoning:
        """Return what a suspect's odds are made of: the parts add up to where it stands.

        Parameters
        ----------
        suspect : str
            Its key or title; a part, pin, connector or module for everything that may be wrong
            there; ``unlisted`` for what is not in the list.
        about : str
            Number of an event, or words of some evidence, to be split by the rivals that it speaks
            for or against.

        Raises
        ------
        MisuseError
            If there is no such suspect, or no such evidence.
        """
        return self._reckoner().reckoning(suspect, about)

    def _reckoner(self) -> Reckoner:
        return Reckoner(self.case, self.so_far.entries)

    def expected(self, point: str, mode: str | MeterMode = MeterMode.DIODE) -> ExpectedReading:
        """Return what the meter should show at a point, and what it did show.

        Raises
        ------
        MisuseError
            If no board is known, or it has no such point.
        """
        where, _ = known_point(point, self.knowledge.board)
        return expected_reading(self.case, where, mode_of(mode))

    def differences(self, most: int | None = 5) -> tuple[DifferenceRecord, ...]:
        """Compare the patient with boards that work, worst first."""
        return differences(self.case, self.so_far.moves, most)

    def why(self, step: str = "", budget: int = LOOK_AHEADS) -> Explanation:
        """Return why a step is, or is not, what to do next; the recommended one if left out.

        Raises
        ------
        UnknownStepError
            If there is no such step.
        """
        advice = self.recommend(budget)
        name = known_step(self.case, step) if step else advice.option.id
        return explain(self.case, advice, name)

    def remarks(self) -> tuple[Remark, ...]:
        """Return what is worth saying unasked about the job as it stands."""
        return remarks(self.case)

    def overview(self) -> Overview:
        """Return where the job stands."""
        return overview(self.so_far, self.knowledge, self.case, len(self.events()))

    def history(self) -> tuple[LogLine, ...]:
        """Return the log in words, corrections included."""
        standing = frozenset(event.number for event in self._log.effective())
        return tuple(log_line(event, standing) for event in self.events())
