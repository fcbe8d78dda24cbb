"""Random bipartite noisy-OR networks: faults above, checks below."""

from __future__ import annotations

import numpy as np

Network = tuple[np.ndarray, np.ndarray, np.ndarray, list[bool | None]]


def random_network(seed: int) -> Network:
    """Return priors, strengths, leaks and findings of up to 12 faults and 15 checks.

    The last seeds have the full size. No check hangs on more than six faults, so that a general
    library can hold its table.
    """
    random = np.random.default_rng(seed)
    faults = int(random.integers(3, 13)) if seed < 4 else 12
    checks = int(random.integers(3, 16)) if seed < 4 else 15
    priors = random.uniform(0.001, 0.3, faults)
    strengths = random.uniform(0.05, 1.0, (checks, faults))
    for row in strengths:
        parents = random.permutation(faults)[: int(random.integers(0, min(7, faults + 1)))]
        row[np.setdiff1d(np.arange(faults), parents)] = 0.0
    leaks = random.uniform(0.0001, 0.1, checks)
    words = [True, False, None]
    findings = [words[code] for code in random.choice(3, checks, p=[0.4, 0.4, 0.2])]
    return priors, strengths, leaks, findings
