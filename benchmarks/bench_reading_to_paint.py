"""Time from the key that sends a reading until suspects and map are painted anew, in that window.

On ``nextprobe serve``, a process of its own, and in Debian's Chromium with software rendering.
``typed`` are readings in jobs of the demo pack, a point after the other as a healthy device would
read; ``played`` are steps of demo jobs, where the server asks a simulated device first. Timed from
the key, by its own time stamp, until the frame after the one in which both the suspects and the map
had been drawn with what follows from the entry: writing to disk, inference, the live channel, and
drawing are in it. The next step follows when it is found; ``step`` says when.

``server alone`` is the same without a browser and a network: recording a reading and computing
suspects and suspicion on the board.

Exit code 1 if the median of typed readings or of played steps exceeds its goal of 100 ms.

Usage: ``python benchmarks/bench_reading_to_paint.py [TIMES]``
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import count, islice
from time import perf_counter
from typing import Any

from demo_bench import PACK, Benches, benches, heading, shown

from nextprobe import Job
from nextprobe.web.live import suspected, suspicion

GOAL = 100.0
COMPLAINTS = ("imaging", "fingerprint", "charging", "touch")
SHOWN_SUSPECTS = 6
SCRIPT = """
const frame = () => new Promise(requestAnimationFrame);
let latest = 0;
let turn = null;
const seen = async (name, version) => {
  latest = Math.max(latest, version);
  if (!turn || turn[name] || version <= turn.before) return;
  turn[name] = performance.now();
  if (!turn.suspects || !turn.map || turn.both) return;
  const mine = turn;
  await frame();
  mine.both = performance.now();
};
let frameVersion = 0;
addEventListener("frame", ({ detail }) => {
  const view = new DataView(detail);
  if (view.getUint8(3) === 1) frameVersion = view.getUint32(4, true);
}, true);
addEventListener("map-painted", () => seen("map", frameVersion), true);
addEventListener("suspects-shown", ({ detail }) => seen("suspects", detail.version), true);
addEventListener("known", ({ detail }) => seen("step", detail.version), true);
addEventListener("keydown", (event) => {
  if (event.key === "Enter") turn = { before: latest, key: event.timeStamp };
}, true);
window.taken = () => {
  if (!turn?.both || !turn.step) return null;
  const { key, suspects, map, both, step } = turn;
  return { suspects: suspects - key, map: map - key, both: both - key, step: step - key };
};
"""


def pressed(page: Any) -> dict[str, float]:
    """Press the key that confirms, and return what was measured."""
    page.keyboard.press("Enter")
    while (found := page.evaluate("taken()")) is None:
        page.wait_for_timeout(20)
    page.wait_for_timeout(400)  # what the page loads afterwards
    return dict(found)


def opened(bench: Benches, job: str) -> Any:
    """Return a window on a job in which the step is shown and nothing more is being loaded."""
    page = bench.window(SCRIPT)
    page.goto(f"{bench.base}{job}")
    page.wait_for_selector("#step[aria-busy=false]")
    page.wait_for_load_state("networkidle")
    return page


def typed(bench: Benches) -> Iterator[dict[str, float]]:
    """Yield what was measured as a point after the other was read."""
    for number in count():
        complaint = COMPLAINTS[number % len(COMPLAINTS)]
        job = bench.start("/jobs", f"typed-{number:04d}", complaint=complaint)
        page = opened(bench, job)
        for step, value in readings(bench, job):
            page.locator("#others summary").click()
            page.locator(f"#others [data-step='{step}']").click()
            page.locator("#reading").fill(value)
            yield pressed(page)
            if page.locator("#others [data-step^='probe:']").count() == 0:
                break
        page.context.close()


def readings(bench: Benches, job: str) -> Iterator[tuple[str, str]]:
    """Yield steps that read a point, and what a healthy device would show there."""
    done: set[str] = set()
    while True:
        answer = bench.api.get(f"{job}/steps", params={"most": 300}).raise_for_status().json()
        others = answer["steps"][2:]  # the first is shown, and the second stands beside it
        step = next((each for each in others if is_new(each, done)), None)
        if step is None:
            return
        done.add(step["id"])
        probe = step["acts"][-1]
        asked = {"point": probe["point"], "mode": probe["mode"]}
        found = bench.api.get(f"{job}/expected", params=asked).raise_for_status().json()
        healthy = found["expectation"]["expected"]["healthy"]
        yield step["id"], f"{healthy:.3f}" if isinstance(healthy, float) else "OL"


def is_new(step: Any, done: set[str]) -> bool:
    return step["kind"] == "reading" and step["id"] not in done


def played(bench: Benches) -> Iterator[dict[str, float]]:
    """Yield what was measured as the simulated bench did what is advised."""
    names = [each["name"] for each in bench.api.get("/play").json()["jobs"] if each["pack"] == PACK]
    for number in count():
        name = names[number % len(names)]
        job = bench.start("/play", f"played-{number:04d}", name=name, seed=1 + number)
        page = opened(bench, job)
        while not page.locator("#step .outcomes .key", has_text="Close").count():
            yield pressed(page)
            if page.locator("#lesson").count():
                break
        page.context.close()


def alone(times: int) -> list[float]:
    """Return how long the server takes without anything about it [ms]."""
    found: list[float] = []
    while len(found) < times:
        job = Job.start(PACK, complaint=COMPLAINTS[0])
        job.recommend()
        for step in [each for each in job.next_steps(None) if each.kind == "reading"]:
            began = perf_counter()
            job.record(step.id, "0.5")
            suspected(job, SHOWN_SUSPECTS)
            suspicion(job)
            found.append(1000.0 * (perf_counter() - began))
    return found[:times]


def main(times: int) -> int:
    met = True
    heading("from key to painted suspects and map [ms]")
    with benches() as bench:
        for name, source in (("typed", typed), ("played", played)):
            found = list(islice(source(bench), times))
            column = {part: [each[part] for each in found] for part in found[0]}
            met = shown(f"{name}: suspects and map", column["both"], GOAL) and met
            for part in ("suspects", "map", "step"):
                shown(f"    {part}", column[part])
    shown("server alone", alone(times))
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100))
