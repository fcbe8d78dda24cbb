"""The server as a process: it starts, is killed, starts again, and nothing is lost or doubled."""

from __future__ import annotations

import signal
import subprocess
import threading
from pathlib import Path

import httpx
import pytest
from web_pages import PROGRAM, environment, serving
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from nextprobe import Job
from nextprobe.web.passphrase import keep_hash

PATIENCE = 60.0
WORDS = "three blue kettles"


def run(home: Path, *words: str, text: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*PROGRAM, *words], env=environment(home), input=text, capture_output=True, text=True,
        timeout=PATIENCE, check=False,
    )  # fmt: skip


def test_killed_in_the_middle_it_goes_on_without_loss_or_repetition(tmp_path: Path) -> None:
    new = {"key": "start-0001", "template": "camera", "device": "Brindle 4"}
    answered: dict[str, int] = {}
    with serving(tmp_path) as (process, base), httpx.Client(base_url=f"{base}/api/v1") as client:
        job = client.post("/jobs", json=new).raise_for_status().json()["job"]
        killer = threading.Timer(0.4, process.kill)
        killer.start()
        for number in range(100_000):
            note = {"key": f"note-{number:06d}", "text": f"note {number}"}
            try:
                found = client.post(f"/jobs/{job}/notes", json=note)
            except httpx.HTTPError:
                break
            answered[note["key"]] = found.raise_for_status().json()["recorded"]["event"]
        killer.join()
    assert answered
    last = len(answered)
    with serving(tmp_path) as (_, base), httpx.Client(base_url=f"{base}/api/v1") as client:
        again = client.post("/jobs", json=new).raise_for_status().json()
        assert (again["job"], again["repeated"]) == (job, True)
        for number in range(last + 1):
            note = {"key": f"note-{number:06d}", "text": f"note {number}"}
            found = client.post(f"/jobs/{job}/notes", json=note).raise_for_status().json()
            if note["key"] in answered:
                assert found["repeated"]
                assert found["recorded"]["event"] == answered[note["key"]]
    said = [line.said for line in Job.open(job, tmp_path).history()[1:]]
    assert said == [(f"note {number}",) for number in range(last + 1)]


def test_the_terminal_and_the_browser_see_one_job(tmp_path: Path) -> None:
    with serving(tmp_path) as (process, base), httpx.Client(base_url=f"{base}/api/v1") as client:
        new = {"key": "start-0001", "template": "camera", "device": "Brindle 4"}
        job = client.post("/jobs", json=new).json()["job"]
        live = f"{base.replace('http', 'ws')}/api/v1/jobs/{job}/live?since=1"
        with connect(live, origin=base) as socket:  # type: ignore[arg-type]
            assert '"version":1' in socket.recv(PATIENCE)
            assert run(tmp_path, "note", "from the terminal", "--job", job).returncode == 0
            assert "from the terminal" in socket.recv(PATIENCE)
        for origin in ("http://evil.example", "null"):
            with pytest.raises(InvalidStatus), connect(live, origin=origin):  # type: ignore[arg-type]
                pass
        answer = client.get("/jobs", headers={"host": "evil.example"})
        assert (answer.status_code, answer.json()["error"]["kind"]) == (403, "host")
        process.send_signal(signal.SIGINT)
        assert process.wait(PATIENCE) in (0, 130, -signal.SIGINT)


def test_it_does_not_listen_beyond_this_machine_without_a_passphrase(tmp_path: Path) -> None:
    refused = run(tmp_path, "serve", "--no-open", "--host", "0.0.0.0", "--port", "0")
    assert refused.returncode == 2
    assert "nextprobe passphrase FILE" in refused.stderr
    assert "Traceback" not in refused.stderr
    open_to_all = tmp_path / "words"
    open_to_all.write_text("$argon2id$x")
    open_to_all.chmod(0o644)
    words = ("serve", "--no-open", "--host", "0.0.0.0", "--passphrase-file", str(open_to_all))
    refused = run(tmp_path, *words)
    assert refused.returncode == 2 and "chmod 600" in refused.stderr


def test_with_a_passphrase_it_asks_for_it(tmp_path: Path) -> None:
    file = tmp_path / "words"
    assert run(tmp_path, "passphrase", str(file), text=f"{WORDS}\n").returncode == 0
    words = ("--host", "0.0.0.0", "--passphrase-file", str(file))
    with serving(tmp_path, *words, stderr=subprocess.PIPE) as (process, base):
        with httpx.Client(base_url=f"{base}/api/v1") as client:
            assert client.get("/jobs").status_code == 401
            assert client.post("/session", json={"passphrase": "wrong words"}).status_code == 401
            assert client.post("/session", json={"passphrase": WORDS}).status_code == 200
            assert client.get("/jobs").status_code == 200
        process.send_signal(signal.SIGTERM)
        out, err = process.communicate(timeout=PATIENCE)
    assert WORDS not in out + err and "wrong words" not in out + err


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with serving(tmp_path) as (_, base):
        taken = run(tmp_path, "serve", "--no-open", "--port", base.rpartition(":")[2])
    assert taken.returncode == 2 and "--port" in taken.stderr


def test_the_hash_of_a_passphrase_may_be_in_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "words"
    keep_hash(file, WORDS)
    monkeypatch.setenv("NEXTPROBE_PASSPHRASE_HASH", file.read_text().strip())
    with serving(tmp_path) as (_, base):
        assert httpx.get(f"{base}/api/v1/jobs").status_code == 401
