"""Planning problems drawn at random, in families that are hard in different ways."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from typing import Any

import numpy as np
from numpy.random import Generator

Data = dict[str, Any]


def drawn_problems(seed: int) -> Iterator[Data]:
    """Yield the problems of the benchmark; the same seed always gives the same ones."""
    number = 0
    for family, count in COUNTS.items():
        for _ in range(count):
            random = np.random.default_rng([seed, number])
            yield {"id": f"p{number:02d}", "family": family, **FAMILIES[family](random)}
            number += 1


def _priors(random: Generator, count: int) -> list[float]:
    return _rounded(random.dirichlet(np.full(count, 2.0)))


def _rounded(numbers: Any, digits: int = 4) -> list[float]:
    return [round(float(number), digits) for number in numbers]


def _levels(random: Generator) -> list[float]:
    return _rounded(np.cumsum([0.0, random.uniform(3.0, 15.0), random.uniform(5.0, 25.0)]), 2)


def _price(random: Generator, low: float, high: float) -> float:
    return round(float(random.uniform(low, high)), 2)


def _level(random: Generator, chances: tuple[float, float, float]) -> int:
    return int(random.choice(3, p=chances))


def _test(random: Generator, number: int, yes: list[list[float]], words: list[str]) -> Data:
    """Return a test; `yes` has the chance of every outcome but the last, by state."""
    last = [round(1.0 - sum(column), 4) for column in zip(*yes, strict=True)]
    return {
        "id": f"test {number}",
        "price": _price(random, 1.0, 8.0),
        "level": _level(random, (0.4, 0.4, 0.2)),
        "outcomes": words,
        "chances": [*yes, last],
    }


def _asked(random: Generator, faults: int, wrong: float = 0.15) -> list[float]:
    """Return the chance of yes by fault: a random half of them, each with wrong answers."""
    inside = random.random(faults) < 0.5
    error = random.uniform(0.0, wrong, faults)
    return _rounded(np.where(inside, 1.0 - error, error))


def _stop(random: Generator, faults: list[list[int]]) -> Data:
    """Return giving up, at a price by fault; of several the dearest counts."""
    prices = _rounded(random.uniform(100.0, 300.0, 1 + max(max(each) for each in faults)), 2)
    return {"id": "stop 0", "price": [max(prices[fault] for fault in each) for each in faults]}


def _repair(random: Generator, number: int, leads_to: Data, due: Data) -> Data:
    return {
        "id": f"repair {number}",
        "price": _price(random, 10.0, 80.0),
        "level": _level(random, (0.3, 0.4, 0.3)),
        "leads_to": leads_to,
        **({"due": due} if due else {}),
    }


def _single_repair(random: Generator, number: int, faults: int, states: int) -> Data:
    """Return a repair that helps against one to three faults, each in every state that has it."""
    helped = random.choice(faults, int(random.integers(1, 4)), replace=False).tolist()
    success = {fault: round(float(random.uniform(0.7, 1.0)), 3) for fault in sorted(helped)}
    penalised = random.random() < 0.4
    leads = {
        str(state): _work(state, success[state % faults])
        for state in range(states)
        if state % faults in success
    }
    due = {state: _price(random, 2.0, 20.0) for state in leads} if penalised else {}
    return _repair(random, number, leads, due)


def _work(state: int, success: float) -> list[list[float]]:
    return [[-1, success], [state, round(1.0 - success, 4)]]


def _states(faults: list[list[int]], priors: list[float]) -> list[Data]:
    pairs = zip(faults, priors, strict=True)
    return [{"faults": each, "prior": prior} for each, prior in pairs]


def one_fault(random: Generator, faults: int = 8, repairs: int = 6, tests: int = 5) -> Data:
    """Draw a problem with one fault, overlapping repairs, and work that needs preparing."""
    single = [[fault] for fault in range(faults)]
    return {
        "states": _states(single, _priors(random, faults)),
        "levels": _levels(random),
        "tests": [
            _test(random, number, [_asked(random, faults)], ["yes", "no"])
            for number in range(tests)
        ],
        "repairs": [_single_repair(random, n, faults, faults) for n in range(repairs)],
        "stops": [_stop(random, single)],
    }


def three_outcomes(random: Generator) -> Data:
    """Draw a problem whose tests may also say that they do not know, nothing to be prepared."""
    found = one_fault(random, 8, 6, 0)
    found["levels"] = [0.0]
    for each in found["repairs"]:
        each["level"] = 0
    for number in range(4):
        yes = np.array(_asked(random, 8))
        unsure = random.uniform(0.0, 0.4, 8)
        rows = [_rounded(yes * (1.0 - unsure)), _rounded(unsure)]
        test = _test(random, number, rows, ["yes", "unsure", "no"])
        found["tests"].append({**test, "level": 0})
    return found


def dependent_tests(random: Generator) -> Data:
    """Draw a problem with three tests on one fixture, which may be bad: then all of them guess."""
    faults = 6
    bad = float(random.uniform(0.1, 0.3))
    single = [[fault] for fault in range(faults)] * 2
    priors = np.array(_priors(random, faults))
    tests = []
    for number in range(5):
        yes = np.array(_asked(random, faults, 0.1))
        spoilt = np.full(faults, random.uniform(0.3, 0.7)) if number < 3 else yes
        rows = [_rounded([*yes, *spoilt])]
        tests.append(_test(random, number, rows, ["yes", "no"]))
    return {
        "states": _states(single, _rounded([*(priors * (1.0 - bad)), *(priors * bad)], 5)),
        "levels": _levels(random),
        "tests": tests,
        "repairs": [_single_repair(random, number, faults, 2 * faults) for number in range(5)],
        "stops": [_stop(random, single)],
    }


def stubborn_work(random: Generator) -> Data:
    """Draw a problem in which work that failed may be tried again, and often fails again."""
    faults = 5
    stubborn = float(random.uniform(0.15, 0.35))
    single = [[fault] for fault in range(faults)] * 2
    priors = np.array(_priors(random, faults))
    found = one_fault(random, faults, 0, 4)
    for test in found["tests"]:
        test["chances"] = [[*row, *row] for row in test["chances"]]
    for number in range(4):
        first = _single_repair(random, 2 * number, faults, 2 * faults)
        for state in first["leads_to"]:
            if int(state) >= faults:
                first["leads_to"][state] = _work(int(state), _price(random, 0.05, 0.3))
        again = {**first, "id": f"repair {2 * number + 1}"}
        found["repairs"] += [first, again]
    found["states"] = _states(
        single, _rounded([*(priors * (1.0 - stubborn)), *(priors * stubborn)], 5)
    )
    found["stops"] = [_stop(random, single)]
    return found


def several_faults(random: Generator, faults: int = 5, repairs: int = 5, tests: int = 3) -> Data:
    """Draw a problem with one to three faults at once, which come together more than by chance."""
    sets = [list(each) for size in (1, 2, 3) for each in combinations(range(faults), size)]
    singles = np.array(_priors(random, faults))
    share = float(random.uniform(0.15, 0.5))
    kept = random.random(len(sets)) < 0.5
    together = np.array([
        float(random.uniform(0.5, 2.0)) * float(singles[each].mean()) * 0.3 ** (len(each) - 2)
        if len(each) > 1 and keep else 0.0
        for each, keep in zip(sets, kept, strict=True)
    ])  # fmt: skip
    together = share * together / max(float(together.sum()), 1e-9)
    alone = np.array([float(singles[each[0]]) if len(each) == 1 else 0.0 for each in sets])
    return {
        "states": _states(sets, _rounded((1.0 - share) * alone + together, 5)),
        "levels": _levels(random),
        "tests": [_noisy_or(random, number, faults, sets) for number in range(tests)],
        "repairs": [_partial(random, number, faults, sets) for number in range(repairs)],
        "stops": [_stop(random, sets)],
    }


def _noisy_or(random: Generator, number: int, faults: int, sets: list[list[int]]) -> Data:
    """Return a test that answers yes if any fault inside shows itself, and now and then anyway."""
    shows = np.where(random.random(faults) < 0.5, random.uniform(0.8, 1.0, faults), 0.0)
    leak = float(random.uniform(0.0, 0.1))
    yes = [1.0 - (1.0 - leak) * float(np.prod(1.0 - shows[each])) for each in sets]
    return _test(random, number, [_rounded(yes)], ["yes", "no"])


def _partial(random: Generator, number: int, faults: int, sets: list[list[int]]) -> Data:
    """Return a repair of one or two faults, done well or not at all: the others stay."""
    helped = {number % faults, *random.choice(faults, 1).tolist()}
    success = round(float(random.uniform(0.75, 0.98)), 3)
    places = {tuple(each): place for place, each in enumerate(sets)}
    leads: dict[str, list[list[float]]] = {}
    for place, each in enumerate(sets):
        rest = tuple(fault for fault in each if fault not in helped)
        if len(rest) < len(each):
            target = places[rest] if rest else -1
            leads[str(place)] = [[target, success], [place, round(1.0 - success, 4)]]
    return _repair(random, number, leads, {})


def large(random: Generator) -> Data:
    """Draw a problem with one fault that is too large for the optimum."""
    return one_fault(random, 24, 14, 10)


FAMILIES: dict[str, Callable[[Generator], Data]] = {
    "one fault": one_fault,
    "three outcomes": three_outcomes,
    "dependent tests": dependent_tests,
    "stubborn work": stubborn_work,
    "several faults": several_faults,
    "large": large,
}
COUNTS = {
    "one fault": 18,
    "three outcomes": 6,
    "dependent tests": 8,
    "stubborn work": 8,
    "several faults": 12,
    "large": 8,
}
