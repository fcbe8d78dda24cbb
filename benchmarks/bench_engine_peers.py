"""Time from evidence to the posterior over all hypotheses, beside pgmpy and pyAgrum in one run.

One cause of 5,000 states and 500 tests that depend on it alone, of two to six outcomes; random,
with a fixed seed. All engines stand ready: what building them takes is printed, and not counted.
Counted is, for every engine alike, from a mapping of the outcome of each test to an array of all
5,000 chances. Each round has other outcomes, and asks all engines in turn.

Ours is what a job does: :class:`nextprobe.belief.Ensemble`, conditioned on one test after the
other, here with the logarithms of the tables taken beforehand. The libraries are asked in every
exact way that ends within seconds; belief propagation of pgmpy took 17 s a question when it was
tried and is left out. Ours is asked in a second way too, the logarithms of all tests summed and the
belief conditioned once; most of that time goes into reading 20 MB of tables from memory. Of each
library, and of ours, the fastest way counts.

Then evidence of probability 1e-380, against exact integer arithmetic; and one more test when the
outcomes of 499 are known, which is what happens at the bench.

Exit code 1 if a goal is missed: 10 times as fast as the fastest way of either library, all answers
within 1e-9 of each other, and ours within 1e-9 of the exact posterior at 1e-380.

Usage: ``python benchmarks/bench_engine_peers.py [ROUNDS]``. Where PyTorch is
installed, pgmpy is asked with it too.
"""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from time import perf_counter

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "support"))

import numpy as np
from one_cause import (
    Evidence,
    FloatArray,
    OneCause,
    Weighing,
    drawn_evidence,
    exact_log10,
    exact_posterior,
    largest_difference,
    random_one_cause,
    unlikely_evidence,
)
from one_cause_peers import Ask, Incremental, pgmpy_ways, pgmpy_with_torch, pyagrum_ways

HYPOTHESES, TESTS = 5000, 500
OURS = "nextprobe"
ORDERS = ("greedy", "MinFill", "MinNeighbors", "MinWeight", "WeightedMinFill")
TIMES_AS_FAST, CLOSE, UNLIKELY = 10.0, 1e-9, -380.0
SLOW, FEW = 0.3, 3
"""A way that takes longer [s] is asked in the first few rounds only."""


class Engine:
    """One way of asking, and how long it took each time.

    Parameters
    ----------
    name : str
        The library, a comma, and the way.
    build : callable
        Builds what is asked.
    """

    def __init__(self, name: str, build: Callable[[], Ask]) -> None:
        self.name = name
        began = perf_counter()
        self.ask = build()
        self.built = perf_counter() - began
        self.seconds: list[float] = []
        self.apart = 0.0

    @property
    def library(self) -> str:
        """Whose it is."""
        return self.name.partition(",")[0]

    @property
    def median(self) -> float:
        """Median time of an answer [s]."""
        return float(np.median(self.seconds))

    def timed(self, evidence: Evidence) -> FloatArray:
        """Return its answer, and note how long it took."""
        began = perf_counter()
        found = self.ask(evidence)
        self.seconds.append(perf_counter() - began)
        return found

    def times(self, other: Engine) -> float:
        """Return the median of how many times as long as another it took, round by round."""
        return float(np.median([a / b for a, b in zip(self.seconds, other.seconds, strict=False)]))


def one_by_one(model: OneCause) -> Ask:
    weigh = Weighing(model)
    return lambda evidence: weigh(evidence).probabilities


def at_once(model: OneCause) -> Ask:
    weigh = Weighing(model)
    return lambda evidence: weigh.at_once(evidence).probabilities


def engines_of(model: OneCause) -> list[Engine]:
    ways: dict[str, Callable[[], Ask]] = {
        f"{OURS}, one test after the other": lambda: one_by_one(model),
        f"{OURS}, all tests at once": lambda: at_once(model),
        **pgmpy_ways(model, ORDERS),
        **pyagrum_ways(model),
    }
    if find_spec("torch") is not None:
        ways |= pgmpy_with_torch(model, ["greedy"])
    return [Engine(name, build) for name, build in ways.items()]


def race(model: OneCause, engines: Sequence[Engine], rounds: int) -> None:
    """Ask all engines in turn, round after round."""
    warm = drawn_evidence(model, rounds)
    for engine in engines:
        engine.ask(warm)
    for number in range(rounds):
        evidence = drawn_evidence(model, number)
        reference = engines[0].timed(evidence)
        for engine in engines[1:]:
            if number < FEW or engine.median < SLOW:
                found = engine.timed(evidence)
                off = largest_difference(found, reference)
                engine.apart = float(np.maximum(engine.apart, off))  # keeps what is no number


def show(engines: Sequence[Engine]) -> None:
    ours = fastest(engines, OURS)
    print(f"\n{'':44}{'build':>9}{'answer':>11}{'times ours':>12}{'rounds':>8}{'apart':>10}")
    for engine in engines:
        print(
            f"{engine.name:44}{engine.built:7.2f} s{engine.median * 1e3:8.2f} ms"
            f"{engine.times(ours):12.2f}{len(engine.seconds):8}{engine.apart:10.1e}"
        )


def off_the_exact(model: OneCause, engines: Sequence[Engine]) -> float:
    """Ask all engines about evidence of probability 1e-380; return how far ours is off."""
    evidence = unlikely_evidence(model, UNLIKELY)
    exact = exact_posterior(model, evidence)
    print(
        f"\nEvidence of probability 1e{exact_log10(model, evidence):.1f}, off the exact posterior:"
    )
    ours = []
    for engine in engines:
        try:
            off = largest_difference(engine.ask(evidence), exact)
        except Exception as error:  # whatever a library raises is what there is to report
            off = np.nan
            print(f"{engine.name:44}raises {type(error).__name__}")
        else:
            print(f"{engine.name:44}{off:.1e}")
        if engine.library == OURS:
            ours.append(off)
    return float(np.max(ours))


def one_more(model: OneCause, pgmpy: Engine, rounds: int) -> None:
    """Show the time from one more outcome to the posterior, all others being known before.

    pyAgrum keeps what it has worked out; pgmpy is asked about all of them again.
    """
    weigh, pyagrum = Weighing(model), Incremental(model)
    last = list(model.tables)[-1]
    seconds: list[tuple[float, float, float]] = []
    for number in range(rounds):
        every = drawn_evidence(model, number)
        further = {last: every[last]}
        known = {name: outcome for name, outcome in every.items() if name != last}
        belief = weigh(known)
        pyagrum.start(known)
        seconds.append(
            (
                spent(lambda b=belief, f=further: weigh(f, b).probabilities),
                spent(lambda f=further: pyagrum.ask(f)),
                spent(lambda e=every: pgmpy.ask(e)),
            )
        )
    rows = np.array(seconds)
    names = (OURS, "pyAgrum, ShaferShenoyInference, one added", f"{pgmpy.name}, all again")
    print(f"\nOne more test after {len(model.tables) - 1}:")
    for name, column in zip(names, rows.T, strict=True):
        times = np.median(column / rows[:, 0])
        print(f"{name:50}{np.median(column) * 1e3:8.3f} ms{times:12.0f} times ours")


def spent(work: Callable[[], object]) -> float:
    began = perf_counter()
    work()
    return perf_counter() - began


def fastest(engines: Sequence[Engine], library: str) -> Engine:
    return min((e for e in engines if e.library == library), key=lambda engine: engine.median)


def goals(engines: Sequence[Engine], off: float) -> bool:
    """Print each goal, and return whether all are met."""
    met, ours = [], fastest(engines, OURS)
    for library in ("pgmpy", "pyAgrum"):
        best = fastest(engines, library)
        times = best.times(ours)
        met.append(times >= TIMES_AS_FAST)
        print(
            f"{said(met[-1])}: {times:.1f} times as fast as {best.name}, {TIMES_AS_FAST:.0f} wanted"
        )
    apart = float(np.max([engine.apart for engine in engines]))
    met += [apart <= CLOSE, off <= CLOSE]
    print(f"{said(met[-2])}: answers at most {apart:.1e} apart, {CLOSE:.0e} wanted")
    print(f"{said(met[-1])}: ours {off:.1e} off the exact posterior at 1e-380, {CLOSE:.0e} wanted")
    return all(met)


def said(met: bool) -> str:
    return "met" if met else "MISSED"


def main(rounds: int) -> int:
    warnings.simplefilter("ignore")
    model = random_one_cause(HYPOTHESES, TESTS)
    several = TESTS - model.two_valued
    load = os.getloadavg()[0]
    print(
        f"{HYPOTHESES} hypotheses, {model.two_valued} tests of two outcomes and {several} of more; "
        f"load {load:.1f} on {os.cpu_count()} processors"
    )
    engines = engines_of(model)
    race(model, engines, rounds)
    show(engines)
    one_more(model, fastest(engines, "pgmpy"), rounds)
    off = off_the_exact(model, engines)
    print()
    return 0 if goals(engines, off) else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 15))
