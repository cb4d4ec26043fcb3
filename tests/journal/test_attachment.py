"""A file enters by its hash and lies beside the journal; a missing or changed one is said."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest
from tests.journal.shop import Shop

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import attachment, personal


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "gauge.jpg"
    path.write_bytes(b"\xff\xd8 photo")
    return path


def test_a_photo_enters_by_its_hash(shop: Shop, photo: Path) -> None:
    entry = attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="feed gauge", target=2)
    digest = sha256(photo.read_bytes()).hexdigest()
    shown = personal.shown(entry.body, personal.values_of(shop.journal, "J-1"))
    assert shown == {"name": "gauge.jpg", "sha256": digest, "shows": "feed gauge", "size": 8, "target": 2}
    (one,) = attachment.attached(shop.journal, "J-1")
    assert (one.entry, one.state, one.path.read_bytes()) == (entry, "there", photo.read_bytes())


def test_the_same_photo_is_kept_once(shop: Shop, photo: Path) -> None:
    for job in ("J-1", "J-2"):
        attachment.attach(shop.journal, job, photo, "person:p1", shows="feed gauge")
    assert len(list(attachment.folder_of(shop.journal.path).iterdir())) == 1
    assert len(list(attachment.attached(shop.journal))) == 2


def test_a_missing_or_changed_one_is_said_and_can_be_put_back(shop: Shop, photo: Path) -> None:
    attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="feed gauge")
    (one,) = attachment.attached(shop.journal)
    one.path.write_bytes(b"another")
    assert next(attachment.attached(shop.journal)).state == "changed"
    one.path.unlink()
    assert next(attachment.attached(shop.journal)).state == "missing"
    attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="feed gauge")
    assert next(attachment.attached(shop.journal)).state == "there"


def test_nothing_is_recorded_when_it_cannot_be_kept(shop: Shop, photo: Path) -> None:
    size = shop.journal.size
    with pytest.raises(InputError, match="cannot be read"):
        attachment.attach(shop.journal, "J-1", photo.with_name("none"), "person:p1", shows="x")
    with pytest.raises(InputError, match="no entry 99"):
        attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="x", target=99)
    with pytest.raises(InputError, match="no job 'J-9'"):
        attachment.attach(shop.journal, "J-9", photo, "person:p1", shows="x")
    with pytest.raises(InputError, match="entry 3 is not of job J-1"):
        attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="x", target=3)
    attachment.folder_of(shop.journal.path).write_text("in the way")
    with pytest.raises(JournalError, match="cannot be kept"):
        attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="x")
    assert shop.journal.size == size
