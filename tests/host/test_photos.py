"""A photo is shown as long as its bytes are those that entered, and else the sheet says why it is not."""

from __future__ import annotations

from base64 import b64decode
from hashlib import sha256
from pathlib import Path

import pytest
from tests.audit.jobs import Job

from witnessmark.host import photos
from witnessmark.journal.attachment import Attached

JPEG, PNG = b"\xff\xd8\xff\xe0 gauge", b"\x89PNG\r\n\x1a\n level"


def attached(folder: Path, data: bytes, entered: bytes | None = None) -> Attached:
    digest = sha256(data if entered is None else entered).hexdigest()
    job = Job()
    job.add("attachment", {"name": "a.jpg", "sha256": digest, "shows": "gauge", "size": len(data)}, 5)
    path = folder / digest
    path.write_bytes(data)
    return Attached(job.entries()[-1], path, "there")


@pytest.mark.parametrize(("data", "kind"), [(JPEG, "image/jpeg"), (PNG, "image/png"), (b"GIF89a", "image/gif")])
def test_a_picture_is_shown_byte_for_byte(tmp_path: Path, data: bytes, kind: str) -> None:
    (photo,) = photos.photos([attached(tmp_path, data)]).values()
    head, _, body = photo.address.partition(",")
    assert (head, b64decode(body), photo.why) == (f"data:{kind};base64", data, "")


def test_a_picture_with_another_hash_is_not_shown(tmp_path: Path) -> None:
    (photo,) = photos.photos([attached(tmp_path, PNG, entered=JPEG)]).values()
    assert photo.address == "" and "its hash is another" in photo.why


def test_a_missing_one_and_one_that_is_no_picture_say_so(tmp_path: Path) -> None:
    gone, text = attached(tmp_path, JPEG), attached(tmp_path, b"<svg onload='x()'/>")
    gone.path.unlink()
    said = [one.why for one in photos.photos([gone, text]).values()]
    assert "cannot be read" in said[0] and "no picture that a browser shows" in said[1]


def test_what_is_too_large_alone_or_together_is_not_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_BYTES", 20)
    monkeypatch.setattr(photos, "MOST_BYTES_TOGETHER", 30)
    each = [
        attached(tmp_path, JPEG),
        attached(tmp_path, PNG),
        attached(tmp_path, JPEG + b"!"),
        attached(tmp_path, JPEG * 2),
    ]
    shown = [bool(one.address) for one in photos.photos(each).values()]
    assert shown == [True, True, False, False]


def test_none_is_shown_where_there_is_a_reason_for_all(tmp_path: Path) -> None:
    (photo,) = photos.photos([attached(tmp_path, JPEG)], why_not="erased").values()
    assert (photo.address, photo.why) == ("", "erased")
