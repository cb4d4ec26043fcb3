"""Opening a recording: what it is, gzip, and damage."""

import gzip
import hashlib
import json
import zlib
from collections import Counter
from pathlib import Path

import pytest
from tests.recording import packets as make

from witnessmark.errors import InputError
from witnessmark.recording.doip import DoipMessage
from witnessmark.recording.file import open_recording

CAPTURES = Path(__file__).parents[1] / "captures"
MANIFEST = {entry["file"]: entry for entry in json.loads((CAPTURES / "manifest.json").read_text())["files"]}
LOG = b"(1.0) can0 7E0#023E00\n(1.1) can0 7E8#027E00\n"


@pytest.mark.parametrize("name", [name for name in MANIFEST if name.endswith(".log")])
def test_every_frame_of_every_capture_is_read(name):
    content = (CAPTURES / name).read_bytes()
    assert hashlib.sha256(content).hexdigest() == MANIFEST[name]["sha256"]
    recording = open_recording(CAPTURES / name)
    assert recording.format == "candump"
    assert sum(1 for _ in recording.frames()) == MANIFEST[name]["expected"]["frames_total"]
    assert recording.damage == []


def test_the_doip_capture_gives_sixteen_known_types_one_unknown_and_one_wrong_inverse_version():
    expected = json.loads((CAPTURES / "expected" / "doip-types.json").read_text())
    recording = open_recording(CAPTURES / "doip-types.pcapng")
    found = [one for one in recording.doip() if isinstance(one, DoipMessage)]
    assert Counter(f"0x{one.payload_type:04x}" for one in found) == expected["by_type"]
    assert len({one.payload_type for one in found} - {0x7777}) == 16
    assert [one.packet for one in found if one.refused == "inverse_version"] == [18]
    listed = expected["messages_list"]
    assert [one.packet for one in found] == [entry["frame"] for entry in listed]
    assert [one.over for one in found] == [entry["l4"] for entry in listed]
    assert [f"0x{one.payload_type:04x}" for one in found] == [entry["type"] for entry in listed]
    assert recording.damage == []


def test_gzip_of_anything_is_undone(tmp_path):
    path = tmp_path / "log.gz"
    path.write_bytes(gzip.compress(LOG[:22]) + gzip.compress(LOG[22:]))
    assert [frame.can_id for frame in open_recording(path).frames()] == [0x7E0, 0x7E8]
    path.write_bytes(gzip.compress(make.pcap([(0, make.can(0x7E0, b"\x01"))])))
    assert [frame.can_id for frame in open_recording(path).frames()] == [0x7E0]


def test_zeros_behind_a_gzip_are_no_damage(tmp_path):
    path = tmp_path / "log.gz"
    path.write_bytes(gzip.compress(LOG) + bytes(512))
    recording = open_recording(path)
    assert len(list(recording.frames())) == 2 and recording.damage == []


def test_a_gzip_that_breaks_off_gives_what_came_before_and_says_where(tmp_path):
    path = tmp_path / "log.gz"
    whole = b"".join(b"(%d.0) can0 7E0#023E00\n" % second for second in range(5000))
    path.write_bytes(gzip.compress(whole)[:-2000])
    recording = open_recording(path)
    count = sum(1 for _ in recording.frames())
    assert 0 < count < 5000
    assert "gzip ends early" in recording.damage[0].what and "after byte" in recording.damage[0].place


@pytest.mark.parametrize(("place", "says"), [(-6, "checksum does not fit"), (-3, "another length")])
def test_a_gzip_with_a_wrong_end_gives_all_that_is_in_it_and_doubts_it(tmp_path, place, says):
    path = tmp_path / "log.gz"
    packed = bytearray(gzip.compress(LOG))
    packed[place] ^= 1
    path.write_bytes(packed)
    recording = open_recording(path)
    assert len(list(recording.frames())) == 2
    assert says in recording.damage[0].what and f"after byte {len(LOG)} of" in recording.damage[0].place


def test_a_gzip_damaged_in_its_middle_gives_what_came_before_to_the_byte(tmp_path):
    path = tmp_path / "log.gz"
    packer = zlib.compressobj(wbits=31)
    whole = packer.compress(LOG) + packer.flush(zlib.Z_FULL_FLUSH)
    path.write_bytes(whole + b"\xff" * 2000)  # a block of the type that deflate reserves
    recording = open_recording(path)
    assert len(list(recording.frames())) == 2
    assert "gzip is damaged" in recording.damage[0].what and f"after byte {len(LOG)} of" in recording.damage[0].place


def test_a_gzip_of_which_nothing_can_be_read_is_called_damaged_not_empty(tmp_path):
    path = tmp_path / "log.gz"
    path.write_bytes(b"\x1f\x8b\xff" + bytes(range(40)))
    with pytest.raises(InputError, match="gzip is damaged"):
        open_recording(path)


def test_damage_is_counted_anew_with_each_reading(tmp_path):
    path = tmp_path / "x.log"
    path.write_bytes(LOG + b"garbage\n")
    recording = open_recording(path)
    for _ in range(2):
        assert len(list(recording.frames())) == 2
        assert [error.place for error in recording.damage] == [f"{path} line 3"]
    path.write_bytes(LOG + b"garbage\n" * 1500)
    recording = open_recording(path)
    assert len(list(recording.frames())) == 2
    assert (recording.damaged, len(recording.damage)) == (1500, 1000)


@pytest.mark.parametrize(("content", "says"), [(b"", "is empty"), (b"hello\nworld\n", "no recording")])
def test_a_file_that_is_no_recording_is_refused_with_what_would_be(tmp_path, content, says):
    path = tmp_path / "notes.txt"
    path.write_bytes(content)
    with pytest.raises(InputError, match=says) as caught:
        open_recording(path)
    assert "candump" in caught.value.hint


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        open_recording(tmp_path / "none.log")


def test_whether_a_capture_holds_can_is_seen_without_forgetting_damage(tmp_path):
    path = tmp_path / "x.pcap"
    path.write_bytes(make.pcap([(0, make.can(0x7E0, b"\x01"))])[:-1])
    recording = open_recording(path)
    assert list(recording.frames()) == [] and len(recording.damage) == 1
    assert not recording.has_can and len(recording.damage) == 1
