"""The readers against files that other libraries write: python-can (candump, ASC, BLF, TRC, CSV, SQLite) and scapy
(pcap, pcapng).

Traps of python-can 4.6.1: its candump writer loses the length of remote frames and the content of error frames; times
are floating seconds, so they are compared to the microsecond.
"""

import gzip
import logging
import sys

import can
import pytest
from tests.recording import packets as make

from witnessmark.errors import InputError
from witnessmark.recording.file import open_recording

FRAMES = [
    (0x7DF, False, bytes.fromhex("0201000000000000")),
    (0x7E8, False, bytes.fromhex("0641008000000100")),
    (0x18DA10F1, True, bytes.fromhex("021003")),
    (0x18DAF110, True, bytes.fromhex("06500300320 1f4".replace(" ", ""))),
    (0x123, False, b""),
]


def write(path, writer):
    with writer(str(path)) as log:
        for at, (can_id, extended, data) in enumerate(FRAMES):
            log.on_message_received(
                can.Message(
                    timestamp=1_700_000_000 + at * 0.25,
                    arbitration_id=can_id,
                    is_extended_id=extended,
                    data=data,
                    is_rx=at % 2 == 0,
                    channel=1,
                )
            )


WRITERS = {
    "log": can.CanutilsLogWriter,
    "asc": can.ASCWriter,
    "blf": can.BLFWriter,
    "csv": can.CSVWriter,
    "trc": can.TRCWriter,
    "db": can.SqliteWriter,
}


@pytest.mark.parametrize(("ending", "zipped"), [(end, gz) for end in WRITERS for gz in (False, True)])
def test_what_python_can_writes_is_read_back(tmp_path, ending, zipped):
    path = tmp_path / f"x.{ending}"
    write(path, WRITERS[ending])
    if zipped:
        packed = tmp_path / f"x.{ending}.gz"
        packed.write_bytes(gzip.compress(path.read_bytes()))
        path = packed
    recording = open_recording(path)
    found = list(recording.frames())
    assert recording.damage == []
    assert [(frame.can_id, frame.extended, frame.data) for frame in found] == FRAMES
    # ASC and TRC count from a start that python-can's writer sets to the first message: gaps are compared.
    gaps = [(frame.stamp.wall_ns - found[0].stamp.wall_ns) / 1e9 for frame in found]
    assert gaps == pytest.approx([0, 0.25, 0.5, 0.75, 1.0], abs=1e-3)
    if ending in ("log", "blf", "csv", "db"):
        assert found[0].stamp.wall_ns == 1_700_000_000_000_000_000
    if ending == "log":
        assert [frame.origin for frame in found] == ["received", "sent"] * 2 + ["received"]


def test_its_floating_seconds_are_rounded_to_the_microsecond(tmp_path):
    path = tmp_path / "x.csv"
    write(path, can.CSVWriter)
    path.write_text(path.read_text().replace("1700000000.25", "1700000000.123457"))
    found = list(open_recording(path).frames())
    assert found[1].stamp.wall_ns == 1_700_000_000_123_457_000


def test_a_blf_cut_short_gives_what_was_readable_and_says_so(tmp_path):
    path = tmp_path / "x.blf"
    write(path, can.BLFWriter)
    path.write_bytes(path.read_bytes()[:-30])
    recording = open_recording(path)
    found = list(recording.frames())
    assert [(frame.can_id, frame.extended, frame.data) for frame in found] == FRAMES[: len(found)]
    # python-can 4.6.1 leaves the cut tail out without a word; the header's file size shows it.
    assert f"byte {path.stat().st_size}" in recording.damage[0].place and "cut short" in recording.damage[0].what


@pytest.mark.parametrize("left", [b" 2", b" 2.000000 1  7E8             Rx   d 8 02 7E", b" 2.000000 1  7E8  Rx   d 8"])
def test_an_asc_file_that_ends_inside_a_line_is_damaged_there_and_read_up_to_it(tmp_path, left):
    path = tmp_path / "x.asc"
    path.write_bytes(ASC + left)
    recording = open_recording(path)
    assert [(frame.can_id, frame.channel) for frame in recording.frames()] == [(0x7E0, "1")]
    assert [damage.what for damage in recording.damage] == ["the file ends inside its last line"]
    assert recording.damage[0].place.endswith(f"byte {len(ASC + left)}")


@pytest.mark.parametrize(
    "end", [b"", b"End TriggerBlock", b" 2.000000 1  7E8             Rx   d 2 02 7E", b" 2.000000 1  7E8  Rx   d 0"]
)
def test_an_asc_file_whose_last_line_is_whole_is_no_damage(tmp_path, end):
    path = tmp_path / "x.asc"
    path.write_bytes(b"\xef\xbb\xbf" + ASC + end)
    recording = open_recording(path)
    assert len(list(recording.frames())) == 1 + (b" d " in end)
    assert recording.damage == []


ASC = b"""date Wed Nov 25 12:55:32.261 2026
base hex  timestamps absolute
internal events logged
Begin Triggerblock Tue Nov 14 22:13:20.0 2023
 0.000000 Start of measurement
 1.000000 1  7E0             Rx   d 2 3E 00
"""


def test_a_line_that_python_can_steps_over_is_damage(tmp_path):
    path = tmp_path / "x.trc"
    write(path, can.TRCWriter)
    lines = path.read_text().splitlines(keepends=True)
    lines.insert(-2, "garbage\n")
    path.write_text("".join(lines))
    recording = open_recording(path)
    assert len(list(recording.frames())) == len(FRAMES)
    assert [error.place for error in recording.damage] == [f"{path} after frame 3"]
    assert "garbage" in recording.damage[0].what


def test_nothing_listens_to_the_librarys_log_when_the_reading_is_over(tmp_path):
    path = tmp_path / "x.trc"
    write(path, can.TRCWriter)
    log = logging.getLogger("can")
    before = list(log.handlers)
    frames = open_recording(path).frames()
    next(frames)
    assert len(log.handlers) == len(before) + 1
    frames.close()
    assert log.handlers == before


@pytest.mark.parametrize(("ending", "name"), [("pcap", "wrpcap"), ("pcapng", "wrpcapng")])
def test_what_scapy_writes_is_read_back(tmp_path, ending, name):
    from scapy import utils
    from scapy.packet import Raw

    path = tmp_path / f"x.{ending}"
    packets = []
    for at, (can_id, extended, data) in enumerate(FRAMES):
        packet = Raw(make.can(can_id, data, extended=extended))
        packet.time = 1_700_000_000 + at * 0.25
        packets.append(packet)
    if name == "wrpcap":
        utils.wrpcap(str(path), packets, linktype=227)
    else:
        with utils.PcapNgWriter(str(path)) as writer:
            writer.linktype = 227
            for packet in packets:
                writer.write(packet)
    recording = open_recording(path)
    found = list(recording.frames())
    assert recording.damage == []
    assert [(frame.can_id, frame.extended, frame.data) for frame in found] == FRAMES
    assert found[1].stamp.wall_ns == 1_700_000_000_250_000_000


def test_without_python_can_its_formats_are_refused_with_what_to_install(tmp_path, monkeypatch):
    path = tmp_path / "x.asc"
    write(path, can.ASCWriter)
    monkeypatch.setitem(sys.modules, "can", None)
    with pytest.raises(InputError, match="not installed") as caught:
        list(open_recording(path).frames())
    assert "pip install" in caught.value.hint
