"""Requests made from the description of the interface, sent to a server inside the process."""

from __future__ import annotations

import warnings
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from nextprobe.web import Settings, create_app

BASE = "http://127.0.0.1:8765"
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
_ON_A_JOB = 20
DEVICE = """
device: {name: Wicker 1}
functions: {camera: {class: camera, needs: {modules: [camera]}}}
modules: {camera: {title: camera module, connector: J4}}
jobs:
  dark: {title: Dead, says: It is dark., complaint: camera, faults: ["module-bad:camera"]}
"""
PINS = "J4.1,GND,gnd\nJ4.2,VDD_CAM,0.612\nJ4.3,CAM_SDA,0.452\nJ4.4,CAM_SCL,OL\n"
_WORDS = (
    *("camera", "J4", "J4.3", "0.452", "OL", "works", "fails", "donor", "clean", "liquid"),
    *("1 gnd\n2 VDD .6", "J4.3 > R7 33R > U1.A4", "J4.3 0.452", "VDD_CAM", "Wicker 1", "~"),
)
_STEPS = (
    *("check:camera", "probe:J4.3", "run:J4", "trial:camera:fit", "trial:camera:fit-refresh"),
    *("refresh:update", "work:clean:J4", "look:camera-self-test", "verify", "probe:J4.2~J4.3"),
    *("current:before-key", "lift:R7", "probe:J4.3@ohms", "run:J4:ohms", "probe:", "close"),
)
_LIKELY: dict[str, tuple[Any, ...]] = {
    "step": _STEPS,
    "result": ("works", "fails", "0.452", 0.12, "OL", [["J4.3", 0.4]], [["3", "OL"]], "nothing"),
    "readings": ([["J4.3", 0.45]], [["J4.2", "OL"], ["J4.4", 1.9]], [["X9.1", "4k7"]]),
    "text": (
        "point,A1,A2\nJ4.2,.61,.62\nJ4.3,.45,.46",
        "1 gnd\n2 VDD .6\n3 SDA .45",
        "J4.3 > R7 33R > U1.A4",
        "J4.3 0.452\nJ4.4 OL",
    ),
    "device": ("patient", "patient", "donor", "Wicker 2", ""),
    "look": ("camera self-test", "look at the camera connector", "liquid-indicator"),
    "function": ("camera",),
    "module": ("camera",),
    "form": ("fit", "fit-refresh", "refresh", "second", "refit"),
    "refresh": ("update", "restore"),
    "work": ("clean", "reseat", "small passive", "connector replace"),
    "place": ("J4", "camera", "R7", "J4.3"),
    "point": ("J4.3", "R7.1", "VDD_CAM", "J4.2~J4.3", "R7"),
    "connector": ("J4", "J1"),
    "label": ("board 1", "board 2"),
    "template": ("camera", None),
    "pack": ("wicker", None),
    "complaint": ("camera", ""),
    "history": ([], ["drop"], ["liquid", "drop"]),
    "clamped": ("GND", "J4.2"),
    "plugged": ([], ["camera"]),
    "on": ("", "2026-11-20", "2026-13-40"),
    "event": (1, 2, 3, 4, 5, 6, 7, 8),
    "number": (1, 2, 3),
    "checks": ({}, {"camera": "fails"}),
    "name": (None, "dark"),
    "devices": (1, 3),
    "suspect": ("J4", "camera", "unlisted", "dirt:J4", "leak-to-ground:U?J4.3", "R7"),
    "about": ("", "2", "3", "check camera", "J4.3"),
}


@dataclass
class Tally:
    """What was answered.

    Parameters
    ----------
    statuses : Counter
        Answers by operation and status.
    job : str
        The job that requests are about now.
    """

    statuses: Counter[tuple[str, int]] = field(default_factory=Counter)
    job: str = ""

    @property
    def requests(self) -> int:
        """How many requests there were."""
        return sum(self.statuses.values())

    @property
    def server_errors(self) -> int:
        """How many answers had a status from 500 on."""
        return sum(count for (_, status), count in self.statuses.items() if status >= 500)


def small_pack(folder: Path) -> Path:
    """Write the smallest pack with a connector."""
    folder.mkdir(parents=True)
    (folder / "device.yaml").write_text(DEVICE)
    (folder / "pins.csv").write_text(PINS)
    return folder


def fuzz(home: Path, each: int, number: int = 1) -> Tally:
    """Send `each` requests to every operation, and check every answer.

    Names in addresses and words in bodies are often those of things that exist, so that requests
    come further than to the first refusal.
    """
    pack = small_pack(home / "packs" / "wicker")
    app = create_app(Settings(home=home, packs={"wicker": pack}))
    schema = schemathesis.openapi.from_dict(app.openapi())
    tally = Tally()
    with TestClient(app, base_url=BASE, raise_server_exceptions=False) as client:
        for result in schema.get_all_operations():
            operation = result.ok()
            for mode, share in ((GenerationMode.POSITIVE, 2), (GenerationMode.NEGATIVE, 1)):
                _send(operation, mode, max(1, each * share // 3), client, tally, number)
    return tally


def _new_job(client: TestClient, number: int) -> str:
    """Take a device in: each third one is simulated."""
    is_demo = number // _ON_A_JOB % 3 == 2
    body = {"key": f"fuzz-job-{number:08d}", "pack": "wicker"} | (
        {"name": "dark"} if is_demo else {}
    )
    answer = client.post("/api/v1/play" if is_demo else "/api/v1/jobs", json=body)
    assert answer.status_code == 201, answer.text
    return str(answer.json()["job"])


def _send(  # noqa: PLR0917
    operation: Any,
    mode: GenerationMode,
    count: int,
    client: TestClient,
    tally: Tally,
    number: int,
) -> None:
    try:
        cases = operation.as_strategy(generation_mode=mode)
    except Exception:  # nothing wrong can be sent where nothing is taken
        return

    @seed(number)
    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases, data=st.data())
    def one(case: Case, data: st.DataObject) -> None:
        if tally.requests % _ON_A_JOB == 0:
            tally.job = _new_job(client, tally.requests)
        _make_likely(case, data, tally.job)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            request = case.as_transport_kwargs(base_url=BASE)
            request.pop("timeout", None)
            try:
                response = client.request(**_for_httpx(request))
            except (UnicodeEncodeError, ValueError):  # what no client can send
                return
        tally.statuses[operation.label, response.status_code] += 1
        if mode is GenerationMode.POSITIVE or response.status_code not in (404, 405):
            case.validate_response(response, checks=CHECKS)

    try:
        one()
    except Exception as error:
        if type(error).__name__ not in ("Unsatisfiable", "SkipTest", "Skipped"):
            raise


def _make_likely(case: Case, data: st.DataObject, job: str) -> None:
    known = {"job": job, "pack": "wicker", "template": "camera", "reference": "J4", "plot": "cost"}
    for name, value in known.items():
        if name in (case.path_parameters or {}) and data.draw(st.integers(0, 9)) > 0:
            case.path_parameters[name] = value
    for name in case.query or {}:
        if name in _LIKELY and data.draw(st.integers(0, 3)) > 0:
            case.query[name] = data.draw(st.sampled_from(_LIKELY[name]))
    if isinstance(case.body, dict):
        for name in case.body:
            case.body[name] = _likely(name, case.body[name], data)


def _likely(name: str, value: Any, data: st.DataObject) -> Any:
    dice = data.draw(st.integers(0, 9))
    if name == "key":
        return f"fuzz-{data.draw(st.integers(0, 10**9)):09d}" if dice > 1 else value
    if name in _LIKELY and dice > 1:
        return data.draw(st.sampled_from(_LIKELY[name]))
    if isinstance(value, str) and dice > 0:
        return data.draw(st.sampled_from(_WORDS))
    return value


def _for_httpx(request: dict[str, Any]) -> dict[str, Any]:
    data = request.pop("data", None)
    if data is not None:
        request["content" if isinstance(data, bytes | str) else "data"] = data
    return request
