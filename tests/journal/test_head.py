"""The head file: two slots, of which a torn write spoils one."""

from __future__ import annotations

from pathlib import Path

import pytest

from witnessmark.errors import JournalError
from witnessmark.journal.head import SLOT_SIZE, SYNC_EVERY_NS, Head, HeadFile, read, slot


def head(size: int) -> Head:
    return Head(size, bytes([size]) * 32)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = HeadFile(tmp_path / "head")
    for size in (1, 2, 5):
        file.write(slot(head(size)), 0)
    file.close()
    return tmp_path / "head"


def test_the_newest_is_read(path: Path) -> None:
    assert read(path) == head(5)


def test_an_older_one_never_replaces_a_newer(path: Path) -> None:
    file = HeadFile(path)
    file.write(slot(head(4)), 0)
    file.close()
    assert read(path) == head(5)


def test_a_write_cut_off_at_any_byte_leaves_the_one_before(path: Path) -> None:
    whole = path.read_bytes()
    file = HeadFile(path)
    file.write(slot(head(6)), 0)
    file.close()
    newer = path.read_bytes()
    assert newer != whole
    begin = next(
        at for at in range(0, 2 * SLOT_SIZE, SLOT_SIZE) if newer[at : at + SLOT_SIZE] != whole[at : at + SLOT_SIZE]
    )
    for cut in range(SLOT_SIZE):
        torn = newer[: begin + cut] + whole[begin + cut : begin + SLOT_SIZE] + newer[begin + SLOT_SIZE :]
        path.write_bytes(torn)
        assert read(path) in (head(5), head(6))


@pytest.mark.parametrize("at", range(0, SLOT_SIZE, 7))
def test_a_changed_byte_anywhere_in_a_slot_is_never_read_as_a_head(path: Path, at: int) -> None:
    data = path.read_bytes()
    for begin in (0, SLOT_SIZE):
        spoiled = bytearray(data)
        spoiled[begin + at] ^= 1
        path.write_bytes(spoiled)
        assert read(path) == (head(2) if data[begin : begin + SLOT_SIZE].split()[2] == b"5" else head(5))


def test_it_is_synced_once_in_a_while_and_on_closing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[int] = []
    monkeypatch.setattr("os.fdatasync", synced.append)
    file = HeadFile(path)
    for number, now_ns in enumerate((0, 1, SYNC_EVERY_NS - 1, SYNC_EVERY_NS, SYNC_EVERY_NS + 1)):
        file.write(slot(head(10 + number)), now_ns)
    assert len(synced) == 2
    file.close()
    file.close()
    assert len(synced) == 3


def test_a_second_writer_s_head_is_seen(path: Path) -> None:
    one, other = HeadFile(path), HeadFile(path)
    for size in range(10, 20):
        (one if size % 3 else other).write(slot(head(size)), 0)
        assert read(path) == head(size)
    one.close()
    other.close()


def test_garbage_holds_no_head(path: Path) -> None:
    path.write_bytes(b"\x00" * 2 * SLOT_SIZE)
    assert read(path) is None


def test_a_missing_file_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="cannot be read"):
        read(tmp_path / "none")
    with pytest.raises(JournalError, match="cannot be opened"):
        HeadFile(tmp_path / "none" / "head")
