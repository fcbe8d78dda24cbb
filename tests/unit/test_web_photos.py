"""Photos: known by their content, written anew, kept under a name of ours."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from web_bench import API, Bench, served

from nextprobe.errors import MisuseError, StoreError
from nextprobe.store.photos import PhotoFolder


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path, photo_pixels=100_000, photo_bytes=200_000) as found:
        found.start()
        yield found


def photo(kind: str = "JPEG", size: tuple[int, int] = (40, 30)) -> bytes:
    out, image = BytesIO(), Image.new("RGB", size, "teal")
    noted = image.getexif()
    noted[0x010F], noted[0x0112] = "A maker", 6  # on its side
    place = noted.get_ifd(0x8825)
    place[1], place[2] = "N", (52.0, 31.0, 7.0)
    image.save(out, kind, exif=noted)
    return out.getvalue()


def send(bench: Bench, content: bytes, key: str = "photo-0001", **more: Any) -> Any:
    headers = {"content-type": more.pop("content_type", "image/jpeg")}
    return bench.client.post(
        f"{API}/jobs/{bench.job}/photos", params={"key": key, **more}, content=content,
        headers=headers,
    )  # fmt: skip


@pytest.mark.parametrize(("kind", "kept"), [("JPEG", "jpg"), ("PNG", "png"), ("WEBP", "jpg")])
def test_a_photo_is_written_anew_without_what_the_camera_noted(
    bench: Bench, kind: str, kept: str
) -> None:
    assert send(bench, photo(kind), caption="J4 from above").status_code == 200
    [line] = bench.get("./photos")["photos"]
    assert line["caption"] == "J4 from above"
    assert line["name"].endswith(f".{kept}")
    answer = bench.client.get(f"{API}/jobs/{bench.job}/photos/{line['name']}")
    assert answer.headers["content-type"] == {"jpg": "image/jpeg", "png": "image/png"}[kept]
    shown = Image.open(BytesIO(answer.content))
    assert dict(shown.getexif()) == {}
    assert b"A maker" not in answer.content and b"Exif" not in answer.content
    assert shown.size == (30, 40)


def test_a_photo_sent_twice_is_one(bench: Bench, tmp_path: Path) -> None:
    first, again = send(bench, photo()).json(), send(bench, photo()).json()
    assert (again["repeated"], again["recorded"]) == (True, first["recorded"])
    assert send(bench, photo(size=(20, 20))).status_code == 409
    send(bench, photo(), key="photo-0002")
    assert len(list((tmp_path / "photos").iterdir())) == 2
    assert [line["event"] for line in bench.get("./photos")["photos"]] == [2, 3]


@pytest.mark.parametrize(
    "content",
    [b"", b"<svg onload='x'/>", b"GIF89a", b"\xff\xd8\xff\xe0junk", photo("PNG")[:60],
     photo()[:300]],
)  # fmt: skip
def test_what_is_no_photo_is_refused(bench: Bench, content: bytes) -> None:
    answer = send(bench, content)
    assert (answer.status_code, answer.json()["error"]["kind"]) == (415, "media type")
    assert bench.get(".")["version"] == 1


def test_a_bitmap_is_refused_whatever_it_is_called(bench: Bench) -> None:
    assert send(bench, photo("BMP"), content_type="image/jpeg").status_code == 415


def bomb(width: int, height: int) -> bytes:
    """Return a PNG that says it is huge."""

    def chunk(name: bytes, data: bytes) -> bytes:
        check = zlib.crc32(name + data)
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize("size", [(400, 300), (30_000, 30_000), (2**31 - 1, 2**31 - 1)])
def test_too_many_pixels_are_refused_before_they_are_unpacked(
    bench: Bench, size: tuple[int, int]
) -> None:
    answer = send(bench, bomb(*size))
    assert (answer.status_code, answer.json()["error"]["kind"]) == (413, "too large")


def test_too_many_bytes_are_refused(bench: Bench) -> None:
    assert send(bench, b"\xff\xd8" + bytes(200_000)).status_code == 413


def test_only_photos_of_the_job_are_shown(bench: Bench) -> None:
    send(bench, photo())
    [line] = bench.get("./photos")["photos"]
    bench.start()
    for name in (line["name"], "..%2Fjobs.db", "%2e%2e%2fjobs.db", "x"):
        answer = bench.client.get(f"{API}/jobs/{bench.job}/photos/{name}")
        assert answer.status_code == 404, name


def test_a_photo_that_is_withdrawn_is_not_shown(bench: Bench) -> None:
    event = send(bench, photo()).json()["recorded"]["event"]
    [line] = bench.get("./photos")["photos"]
    bench.post("./withdrawals", event=event)
    assert bench.get("./photos")["photos"] == []
    bench.get(f"./photos/{line['name']}", 404)


def test_the_folder_takes_no_other_names_and_notices_damage(tmp_path: Path) -> None:
    photos = PhotoFolder(tmp_path)
    name = photos.keep(b"content", "jpg")
    assert photos.read(name) == b"content"
    for other in ("../jobs.db", f"{'0' * 64}.jpg", f"{name}/x"):
        with pytest.raises(MisuseError):
            photos.read(other)
    (tmp_path / "photos" / name).write_bytes(b"other")
    with pytest.raises(StoreError, match="damaged"):
        photos.read(name)
