"""What a job advises: next steps, suspects, expectations, differences."""

from __future__ import annotations

from nextprobe.board import MeterMode
from nextprobe.workbench.differences import DifferenceRecord, differences
from nextprobe.workbench.expected import ExpectedReading, expected_reading
from nextprobe.workbench.meter_entry import known_point, mode_of
from nextprobe.workbench.steps import StepRecord, step_records
from nextprobe.workbench.view import JobView
from nextprobe.workbench.words import SuspectRecord, suspect_record


class Adviser(JobView):
    """A job that can be asked."""

    def next_steps(self, most: int | None = 5, budget: int = 12) -> tuple[StepRecord, ...]:
        """Return what could be done next, the recommended step first."""
        return step_records(self.case, self.recommend(budget), most)

    def suspects(self, most: int | None = 5) -> tuple[SuspectRecord, ...]:
        """Return the suspects, likeliest first, with what moved them."""
        return tuple(suspect_record(suspect) for suspect in self.case.suspects(most))

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
