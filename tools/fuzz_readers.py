"""Feed the readers damaged texts, and report whatever they do not take.

    uv run python tools/fuzz_readers.py [--seconds 300] [READER ...]

With the package ``atheris`` (``uv pip install atheris``), inputs are led by coverage; without it,
texts are mutated at random, and the report says so. A reader fails if it raises, if it returns a
finding that does not say what to try, or if one input of a few thousand letters takes five seconds.
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterable
from pathlib import Path

Target = Callable[[str], object]
LONGEST_INPUT = 4096
LONGEST_TIME = 5

SEEDS: dict[str, tuple[str, ...]] = {
    "chains": (
        "board X\nJ4.12 > C87 100n > U3.AB4\nU3.AB4 | D5 esd > GND\nrole VDD rail\n",
        "part U3 chip power\nnet VDD rail\nsupply U3 VDD\nat C87 1 2\nvalue C87 10u\nimplied U9\n",
    ),
    "pins": ("12 452\n13 CAM_SDA .452\nJ4.14 OL\n15 gnd\n", "pin;name;reading [mV]\n1;VDD;402\n"),
    "known_good": (
        "point,mode,reading,boards,source\nJ4.3,diode,0.512,2,mean\nJ4.4,ohms,4k7,1,\n",
    ),
    "spreadsheet": ('a;b;"c d"\n1,5;2;# no\n', "a\tb\tc\n1\t2\t3\n"),
    "yaml": (
        "device: {name: X}\nfunctions:\n  camera: {class: camera, needs: {chips: [U1]}}\n"
        "modules:\n  camera: {connector: J4, price: 20}\n",
    ),
    "kicad_pcb": (
        '(kicad_pcb (version 20241229) (net 1 "GND")\n(footprint "R" (layer "F.Cu") (at 1 2 90)\n'
        '(property "Reference" "R1") (property "Value" "4k7") (attr smd dnp)\n'
        '(fp_line (start 0 0) (end 1 1) (layer "F.CrtYd"))\n(pad "1" smd rect (at 0 0 90) '
        '(size 1 1) (layers "*.Cu") (net 1 "GND") (pinfunction "A") (pintype "passive")))\n'
        '(gr_arc (start 0 0) (mid 1 1) (end 2 0) (layer "Edge.Cuts")))\n',
        "(kicad_pcb (version 4) (module R (layer B.Cu) (at 1 2) (fp_text reference R1 (at 0 0)) "
        "(pad 1 thru_hole oval (at 0 0) (size 1 1) (layers *.Cu) (net 1 GND))))\n",
    ),
    "kicad_net": (
        "(export (version D)\n"
        "(components (comp (ref R1) (value 4k7) (libsource (lib D) (part R))))\n"
        "(libparts (libpart (lib D) (part R) (pins (pin (num 1) (name A) (type passive)))))\n"
        "(nets (net (code 1) (name GND) (node (ref R1) (pin 1)))))\n",
    ),
    "ibis": (
        "[IBIS Ver] 4.2\n[Component] A\n[Pin] signal_name model_name\n1 X m\n2 VDD POWER\n"
        "[Model Selector] s\nm slow\n[Model] m\nModel_type Input\nC_comp 1pF NA NA\n"
        "[Voltage Range] 1.8 1.7 1.9\n[GND Clamp]\n-1.0 -20mA NA NA\n-0.5 -1.0uA NA NA\n"
        "0 0 NA NA\n[POWER Clamp]\n-1.0 20mA NA NA\n0 0 NA NA\n[End]\n",
    ),
    "values": ("4k7", "NA(2k/1%)", "R0402_4R7_1%", "600R@100MHz", "10uF/6V3", "4 x 33R", "5/30pF"),
    "meter": ("452", ".452", "0,452 V", "OL", "gnd", "4.7k", "100 mV"),
}


def target(name: str) -> Target:
    """Return what reads a text; imported late, so that coverage can be watched."""
    from nextprobe.board import classify  # noqa: PLC0415
    from nextprobe.packs import resolve  # noqa: PLC0415
    from nextprobe.packs.yaml_text import read_yaml  # noqa: PLC0415
    from nextprobe.quantities import parse_meter_text, parse_value  # noqa: PLC0415
    from nextprobe.readers import (  # noqa: PLC0415
        read_chains,
        read_kicad_board,
        read_kicad_netlist,
        read_pins,
        write_chains,
    )
    from nextprobe.readers.ibis import clamps_of, read_ibis  # noqa: PLC0415
    from nextprobe.readers.known_good import read_known_good  # noqa: PLC0415
    from nextprobe.readers.spreadsheet import read_table  # noqa: PLC0415

    def chains(text: str) -> object:
        board, findings = read_chains(text)
        write_chains(board)
        return findings

    def pack(text: str) -> object:
        yaml = read_yaml(text, "device.yaml")
        return yaml.findings or resolve(yaml.data, "device.yaml", yaml.lines)[1]

    def values(text: str) -> object:
        found = [parse_value(text, hint).finding for hint in (None, "ohm", "farad", "henry")]
        first, _, rest = text.partition("\n")
        return [*found, classify(first, rest, "12", first).finding]

    def meter(text: str) -> object:
        return [parse_meter_text(text, mode).finding for mode in ("diode", "volt", "ohm", "farad")]

    def ibis(text: str) -> object:
        found, findings = read_ibis(text)
        if found is not None:
            for component in found.components:
                clamps_of(found, component)
        return findings

    def second(read: Callable[[str], tuple[object, object]]) -> Target:
        return lambda text: read(text)[1]

    targets: dict[str, Target] = {
        "chains": chains,
        "pins": second(read_pins),
        "known_good": second(read_known_good),
        "spreadsheet": lambda text: read_table(text, "x")[1],
        "yaml": pack,
        "kicad_pcb": second(read_kicad_board),
        "kicad_net": second(read_kicad_netlist),
        "ibis": ibis,
        "values": values,
        "meter": meter,
    }
    return targets[name]


def check(findings: Iterable[object]) -> None:
    """Raise AssertionError at a finding that says too little."""
    for finding in findings:
        if finding is not None:
            assert getattr(finding, "what", "") and getattr(finding, "remedy", ""), finding


def led_by_coverage(name: str, seconds: int, folder: Path) -> None:
    """Run atheris in this process; it ends the process itself."""
    import atheris  # type: ignore[import-not-found, unused-ignore]  # noqa: PLC0415

    with atheris.instrument_imports(include=["nextprobe"]):
        read = target(name)

    def one(data: bytes) -> None:
        check(read(data.decode("utf-8", "surrogateescape").encode("utf-8", "replace").decode()))  # type: ignore[arg-type]

    corpus = folder / "corpus"
    corpus.mkdir()
    for number, text in enumerate(SEEDS[name]):
        (corpus / str(number)).write_text(text, encoding="utf-8")
    options = [
        f"-max_total_time={seconds}",
        f"-max_len={LONGEST_INPUT}",
        f"-timeout={LONGEST_TIME}",
        f"-artifact_prefix={folder}/",
        "-rss_limit_mb=2048",
        "-print_final_stats=1",
    ]
    atheris.Setup([sys.argv[0], *options, str(corpus)], one)
    atheris.Fuzz()


def mutated(text: str, rng: random.Random) -> str:
    """Return a text with a few pieces lost, doubled, moved or made up."""
    for _ in range(rng.randint(1, 6)):
        start = rng.randint(0, len(text))
        end = min(len(text), start + rng.randint(0, 20))
        letters = rng.choices(
            '()"\\ \t\n;,.#>|0159-+eknRΩ\0\ufeffé~{}[]:&*!%@', k=rng.randint(0, 4)
        )
        piece = rng.choice(["", text[start:end] * 2, "".join(letters)])
        text = text[:start] + piece + text[end:]
    return text[:LONGEST_INPUT]


def at_random(name: str, seconds: int) -> tuple[int, list[str]]:
    """Mutate texts for some time; return how many were read, and what went wrong."""
    read, rng = target(name), random.Random(name)
    kept, wrong, runs = list(SEEDS[name]), [], 0
    end = time.monotonic() + seconds
    while time.monotonic() < end and len(wrong) < 10:
        text = mutated(rng.choice(kept), rng)
        runs += 1
        before = time.monotonic()
        try:
            check(read(text))  # type: ignore[arg-type]
        except Exception:
            wrong.append(f"{text!r}\n{traceback.format_exc()}")
        if time.monotonic() - before > LONGEST_TIME:
            wrong.append(f"{text!r}\ntook {time.monotonic() - before:.1f} s")
        if rng.random() < 0.01 and len(kept) < 200:
            kept.append(text)
    return runs, wrong


def report(name: str, seconds: int) -> bool:
    """Fuzz one reader and print what came of it; return whether it took everything."""
    if importlib.util.find_spec("atheris") is None:
        runs, wrong = at_random(name, seconds)
        print(f"{name}: {runs} texts mutated at random (no atheris), {len(wrong)} failures")
        print("\n".join(wrong), end="")
        return not wrong
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, __file__, "--in", folder, "--seconds", str(seconds), name]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        found = re.search(r"number_of_executed_units:\s*(\d+)", done.stderr)
        covered = re.findall(r"cov: (\d+)", done.stderr)
        runs = int(found[1]) if found else 0
        failed = done.returncode != 0 or not runs
        shown = f"{covered[-1]} branches" if covered else "no coverage"
        print(f"{name}: {runs} texts led by coverage ({shown}), {int(failed)} failures", flush=True)
        if failed:
            print(done.stdout[-3000:], done.stderr[-3000:])
            for file in Path(folder).glob("*-*"):
                print(f"{file.name}: {file.read_bytes()!r}")
        return not failed


def main() -> None:
    """Fuzz the readers that are named, or all of them."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seconds", type=int, default=60, help="time for each reader")
    parser.add_argument("--in", dest="folder", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("readers", nargs="*", help=f"any of {', '.join(SEEDS)}")
    wanted = parser.parse_args()
    unknown = set(wanted.readers) - set(SEEDS)
    if unknown or wanted.seconds < 1:
        parser.error(f"no such reader: {', '.join(unknown)}" if unknown else "too short a time")
    if wanted.folder is not None:
        led_by_coverage(wanted.readers[0], wanted.seconds, wanted.folder)
        return
    results = [report(name, wanted.seconds) for name in wanted.readers or SEEDS]
    sys.exit(0 if all(results) else 1)


if __name__ == "__main__":
    main()
