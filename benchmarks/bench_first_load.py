"""What a browser loads that has never seen the bench, and how long until the step and map stand.

A demo job on ``nextprobe serve``, a process of its own, is opened in Debian's Chromium with
software rendering, each time in a new context that has nothing kept. Timed from the start of the
navigation until the frame after the one in which the step was shown and the map was drawn with its
suspicion:
``performance.now()`` in the page, so that the time of the driver does not count. Bytes are those of
the answers with their headers, as the browser counts them: until then, and until 0.5 s without
a request.

The server has the job in memory, as it has when somebody goes from the list to a job. ``opened
first`` is the very first time, when the next step has still to be found.

Exit code 1 if a median exceeds its goal: 150 kB for everything, and 700 ms.

Usage: ``python benchmarks/bench_first_load.py [TIMES]``
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import Any

from demo_bench import Benches, benches, heading, shown

BYTES, MILLISECONDS = 150.0, 700.0
SCRIPT = """
const seen = {};
let finished;
window.firstPicture = new Promise((then) => { finished = then; });
const frame = () => new Promise(requestAnimationFrame);
const note = async (name) => {
  await frame();
  seen[name] ??= performance.now();
  if (seen.step && seen.map && seen.suspects) finished({ ...seen });
};
addEventListener("step-shown", () => note("step"), true);
addEventListener("suspects-shown", () => note("suspects"), true);
addEventListener("map-painted", ({ target }) => { if (target.suspicion) note("map"); }, true);
"""


@dataclass
class Wire:
    """What came over the wire."""

    requests: int = 0
    sizes: list[float] = field(default_factory=list)

    def watch(self, page: Any) -> None:
        """Count what a page asks for and gets."""
        channel = page.context.new_cdp_session(page)
        channel.send("Network.enable")
        channel.on("Network.requestWillBeSent", self._asked)
        channel.on("Network.loadingFinished", lambda one: self.sizes.append(_kilobytes(one)))

    def _asked(self, event: Any) -> None:
        self.requests += event["request"]["url"].startswith("http")


def _kilobytes(event: Any) -> float:
    return float(event["encodedDataLength"]) / 1000.0


def opened(bench: Benches, job: str) -> dict[str, float]:
    """Open a job where nothing is kept; return what was measured."""
    page, wire = bench.window(SCRIPT), Wire()
    wire.watch(page)
    page.goto(f"{bench.base}{job}", wait_until="commit")
    found = dict(page.evaluate("firstPicture"))
    first = {"requests": float(wire.requests), "kilobytes": sum(wire.sizes)}
    page.wait_for_load_state("networkidle")
    page.context.close()
    whole = {"all requests": float(wire.requests), "all kilobytes": sum(wire.sizes)}
    return {**found, **first, **whole, "picture": max(found["step"], found["map"])}


def main(times: int) -> int:
    with benches() as bench:
        job = bench.start("/play", "0001", name="stale")
        heading("first load of the bench of a demo job")
        first = opened(bench, job)
        found = [opened(bench, job) for _ in range(times)]
        column = {name: [each[name] for each in found] for name in first}
        met = shown("step and map shown [ms]", column["picture"], MILLISECONDS)
        shown("    step [ms]", column["step"])
        shown("    suspects [ms]", column["suspects"])
        shown("    map [ms]", column["map"])
        met = shown("over the wire, everything [kB]", column["all kilobytes"], BYTES) and met
        shown("    until step and map [kB]", column["kilobytes"])
        shown("requests, everything", column["all requests"])
        shown("    until step and map", column["requests"])
        shown("opened first: step and map [ms]", [first["picture"]])
        shown("    suspects [ms]", [first["suspects"]])
        shown("    map [ms]", [first["map"]])
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100))
