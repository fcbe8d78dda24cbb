"""A server inside the test, with the smallest pack that has a connector."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from nextprobe.web import Settings, create_app

BASE = "http://127.0.0.1:8765"
API = "/api/v1"
PINS = "J4.1,GND,gnd\nJ4.2,VDD_CAM,0.612\nJ4.3,CAM_SDA,0.452\nJ4.4,CAM_SCL,OL\n"
DEVICE = """
device: {name: Wicker 1}
functions:
  camera: {class: camera, needs: {modules: [camera]}}
modules:
  camera: {title: camera module, connector: J4}
"""


class Bench:
    """A client, with a job on it.

    Parameters
    ----------
    client : TestClient
    """

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self._keys = (f"test-key-{number:04d}" for number in count())
        self.job = ""

    def get(self, path: str, status: int = 200, **query: Any) -> Any:
        """Return what is answered; a path that begins with a dot is one of the job."""
        answer = self.client.get(self._address(path), params=query)
        assert answer.status_code == status, answer.text
        return answer.json()

    def post(self, path: str, status: int = 200, **body: Any) -> Any:
        """Send a body, under a new key where none is given."""
        answer = self.client.post(
            self._address(path), json={"key": body.pop("key", None) or next(self._keys), **body}
        )
        assert answer.status_code == status, answer.text
        return answer.json()

    def start(self, **body: Any) -> Any:
        """Start a job and stay on it."""
        found = self.post("/jobs", 201, **({"pack": "wicker"} | body))
        self.job = str(found["job"])
        return found

    def _address(self, path: str) -> str:
        return f"{API}/jobs/{self.job}{path[1:]}" if path.startswith(".") else f"{API}{path}"


def small_pack(folder: Path) -> Path:
    """Write the pack."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "device.yaml").write_text(DEVICE)
    (folder / "pins.csv").write_text(PINS)
    return folder


@contextmanager
def served(home: Path, **settings: Any) -> Iterator[Bench]:
    """Serve a folder of jobs."""
    packs = {"wicker": small_pack(home / "packs" / "wicker")}
    chosen = {"packs": packs, "beat_seconds": 3600.0, **settings}
    app = create_app(Settings(home=home, **chosen))
    with TestClient(app, base_url=BASE) as client:
        yield Bench(client)
