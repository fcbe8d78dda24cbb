"""How far a rehearsal is: a bar where somebody watches, a file where another program does."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

    from nextprobe.trials.rehearsal import Plan, Tuning

Moving = Callable[[float, str], None]
"""Is told how much is done, and what is being done just now."""


@dataclass(frozen=True)
class Watched:
    """Whoever watches a rehearsal.

    Parameters
    ----------
    file : Path or None
        What another program reads; nothing is written where it is None.
    """

    file: Path | None = None

    @contextmanager
    def stage(self, doing: str, of: int, done: int) -> Iterator[Moving]:
        """Show a stage of so many, of which so many are done, with the time that is left."""
        begun = time.monotonic()
        with _bar() as bar:
            task = bar.add_task(doing, total=of, completed=done)

            def move(so_far: float, about: str) -> None:
                title = f"{doing}: {about}" if about else doing
                bar.update(task, completed=so_far, description=title, refresh=True)
                spent = time.monotonic() - begun
                left = spent * (of - so_far) / (so_far - done) if so_far > done else None
                self._write(
                    {"doing": doing, "about": about, "done": so_far, "of": of, "left": left}
                )

            move(done, "")
            yield move

    def _write(self, state: dict[str, object]) -> None:
        if self.file is None:
            return
        fresh = self.file.with_suffix(".new")
        # A disk that is full stops what is kept, and says so; how far it is need not.
        with suppress(OSError):
            fresh.write_text(json.dumps(state), "utf-8")
            fresh.replace(self.file)


@dataclass
class Tunings:
    """How far the tuning of all static orders is.

    Parameters
    ----------
    plan : Plan
    titles : dict of str to str
        Of the functions, for people.
    move : callable
    finished : set of str
        Complaints whose order is tuned.
    """

    plan: Plan
    titles: dict[str, str]
    move: Moving
    finished: set[str]
    _at: dict[str, Tuning] = field(default_factory=dict)

    def hear(self, at: Tuning) -> None:
        """Take in where the tuning of one order is."""
        self._at[at.complaint] = at
        complaints = list(dict.fromkeys(self.plan.complaints))
        place = f"function {complaints.index(at.complaint) + 1} of {len(complaints)}"
        order = f"order {at.order} of at most {most_orders(self.plan)}"
        title = self.titles.get(at.complaint, at.complaint)
        device = f"on device {at.device} of {self.plan.training}"
        self.move(self._done(), f"{title} ({place}), {order}, {device}")

    def finish(self, complaint: str) -> None:
        """Take in that an order is tuned."""
        self.finished.add(complaint)
        self.move(self._done(), "")

    def _done(self) -> float:
        going = (at for name, at in self._at.items() if name not in self.finished)
        parts = (at.order - 1 + (at.device - 1) / self.plan.training for at in going)
        return len(self.finished) * most_orders(self.plan) + sum(parts)


def most_orders(plan: Plan) -> int:
    """Return how many orders are tried for a complaint at most."""
    from nextprobe.trials.strategies.tuning import STARTS  # noqa: PLC0415

    return max(plan.tries, len(STARTS))


def _bar() -> Progress:
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import (  # noqa: PLC0415
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    # Without a thread of its own: processes are forked while it is shown.
    return Progress(
        *columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True,
        auto_refresh=False,
    )  # fmt: skip
