"""What to do in every state that may come up, as data."""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.planning.option import Option


@dataclass(frozen=True)
class Next:
    """One outcome of a step of a policy.

    Parameters
    ----------
    label : str
        What is seen.
    probability : float
        Of that.
    cost : float
        What falls due with it [currency].
    step : int or None
        Place of the step that follows; None where the job ends.
    """

    label: str
    probability: float
    cost: float
    step: int | None


@dataclass(frozen=True)
class PolicyStep:
    """What to do in one state.

    Parameters
    ----------
    option : Option or None
        What to do; None in a state that was not looked into, for which only bounds are known.
    cost : float
        Expected cost from here on by this policy, or less [currency].
    outcomes : tuple of Next
        What may be seen and what follows; empty if the option ends the job for certain.
    """

    option: Option | None
    cost: float
    outcomes: tuple[Next, ...] = ()


@dataclass(frozen=True)
class Policy:
    """A decision tree whose equal branches are kept once.

    Parameters
    ----------
    steps : tuple of PolicyStep
        The first is where to start. Steps may lead back to earlier ones if the problem does.
    """

    steps: tuple[PolicyStep, ...]

    @property
    def complete(self) -> bool:
        """Whether it says what to do in every state that it can lead to."""
        return all(step.option is not None for step in self.steps)

    def text(self, depth: int = 10) -> str:
        """Return the tree in lines, down to some number of steps, equal branches written out."""
        return "\n".join(self._lines(0, depth, ""))

    def _lines(self, place: int, depth: int, indent: str) -> list[str]:
        step = self.steps[place]
        if step.option is None:
            return [f"{indent}not looked into (at most {step.cost:.2f})"]
        lines = [f"{indent}{step.option.title} ({step.cost:.2f})"]
        for outcome in step.outcomes:
            head = f"{indent}  {outcome.label} ({outcome.probability:.0%})"
            if outcome.step is None:
                lines.append(f"{head}: the end")
            elif depth <= 1:
                lines.append(f"{head}: …")
            else:
                lines.append(f"{head}:")
                lines += self._lines(outcome.step, depth - 1, indent + "    ")
        return lines
