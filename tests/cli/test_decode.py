"""`witnessmark decode` on the recordings of others and on broken files."""

import gzip
import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.recording import packets as make
from tests.recording.traffic import Bus, candump

from witnessmark.cli.decode.command import decode
from witnessmark.cli.decode.sums import Sums
from witnessmark.cli.decode.text import text_of
from witnessmark.errors import InputError
from witnessmark.recording.doip import StreamLoss
from witnessmark.recording.finding import Found

CAPTURES = Path(__file__).parents[1] / "captures"


def run(*arguments):
    return CliRunner().invoke(decode, [str(argument) for argument in arguments])


def objects(result):
    return [json.loads(line) for line in result.stdout.splitlines()]


@pytest.mark.parametrize(
    ("name", "messages"), [("fault-scan", 636), ("battery-polling", 52), ("answers-only", 270), ("no-diagnostics", 0)]
)
def test_json_holds_every_message_of_a_recording_once(name, messages):
    result = run(CAPTURES / f"{name}.log", "--json")
    assert result.exit_code == 0
    found = objects(result)
    assert sum((one["request"] is not None) + len(one["answers"]) for one in found) == messages
    assert f"{messages} messages" in result.stderr


def test_json_of_a_conversation_has_request_answers_times_and_what_was_lost():
    found = objects(run(CAPTURES / "fault-scan.log", "--json"))
    one = next(one for one in found if one["request"]["data"] == "190208" and one["lost"])
    assert one["functional"] and one["channel"] == "can0"
    assert one["request"]["id"] == "7DF" and one["request"]["bits"] == 11
    assert one["request"]["service"] == "19" and one["request"]["sub_function"] == "02"
    refused = next(answer for answer in one["answers"] if answer["id"] == "78B")
    assert refused["response_code"] == "22" and refused["data"] == "7f1922" and refused["after_ms"] == 18.4
    assert "conditionsNotCorrect" in refused["text"]
    assert int(refused["last_ns"]) - int(one["request"]["last_ns"]) == 18_400_000
    assert one["pending"] == sum(answer["response_code"] == "78" for answer in one["answers"])
    lost = {more["id"]: more for more in one["lost"]}
    assert {number: more["bytes_announced"] for number, more in lost.items()} == {"778": 0x17, "7CC": 0x13}
    assert (lost["778"]["reason"], lost["778"]["frames_heard"], lost["778"]["frames_missing"]) == ("gap", 1, 3)
    assert one["frames_lost"] == 5


def test_text_says_when_who_and_what_it_means():
    text = run(CAPTURES / "battery-polling.log").stdout.splitlines()
    assert (
        "0.949700" in text[0] and " 79B " in text[0] and "readDataByLocalIdentifier" in text[0] and "[21 01]" in text[0]
    )
    assert "+114.8 ms" in text[1] and " 7BB " in text[1]


def test_text_says_what_has_no_answer_no_request_or_no_whole_message(tmp_path):
    bus = Bus()
    bus.say(0x7E0, "3e80")
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, b"\x62\xf1\x90" + bytes(30), lose=(2,))
    bus.wait(7000)
    bus.say(0x7E8, "62f18c31")
    bus.say(0x7E0, "1101")
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    text = run(path).stdout
    assert "no answer, none wanted" in text
    assert "LOST: a frame out of sequence; 4 frames heard, 1 missing" in text
    assert "no request for it within 6 s before it" in text and "was not recorded" not in text
    assert "no answer recorded" in text
    assert "2001-09-09 01:46:40.001000Z" in text


def why_lost(tmp_path, *frames):
    """What is said of an answer of 20 bytes, its frames and others given with the ms before each."""
    bus = Bus()
    bus.say(0x7E0, "22f190")
    for wait_ms, can_id, data in frames:
        bus.wait(wait_ms)
        bus.put(can_id, bytes.fromhex(data))
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    return [line.partition("LOST: ")[2].partition("  [")[0] for line in run(path).stdout.splitlines() if "LOST" in line]


FIRST, SECOND, THIRD = (0, 0x7E8, "101462f190010203"), (0, 0x7E8, "2104050607080900"), (0, 0x7E8, "2204050607080900")
LATER = (1500, 0x7E0, "023e00")


def test_text_says_why_a_message_is_lost(tmp_path):
    late = (1500, *SECOND[1:])
    single = (0, 0x7E8, "037f3e12")
    assert why_lost(tmp_path, FIRST) == ["the recording ends before it; 1 frame heard, 2 missing"]
    assert why_lost(tmp_path, FIRST, LATER) == ["no consecutive frame followed within N_Cr; 1 frame heard, 2 missing"]
    ran_out = "N_Cr ran out, more than a second between two frames; 3 frames heard, 0 missing"
    assert why_lost(tmp_path, FIRST, late, THIRD) == [ran_out]
    assert why_lost(tmp_path, FIRST, THIRD) == ["a frame out of sequence; 2 frames heard, 1 missing"]
    assert why_lost(tmp_path, FIRST, single, SECOND, THIRD) == [
        "another message began before it was complete; 3 frames heard, 0 missing"
    ]
    assert why_lost(tmp_path, SECOND, THIRD) == ["its first frame was not recorded; 2 frames of it heard"]
    overflow = (0, 0x7E0, "320000")
    assert why_lost(tmp_path, FIRST, overflow, LATER) == ["refused by the receiver: overflow; 1 frame heard, 2 missing"]


def test_id_narrows_to_the_conversations_it_takes_part_in():
    found = objects(run(CAPTURES / "fault-scan.log", "--json", "--id", "7e4", "--id", "0x7EA"))
    ids = [{one["request"]["id"], *(answer["id"] for answer in one["answers"])} for one in found]
    assert found and all(said & {"7E4", "7EA"} for said in ids)
    assert {"7E4", "7EC"} in ids and any("7DF" in said for said in ids)
    assert run(CAPTURES / "fault-scan.log", "--id", "7G").exit_code == 2


def test_what_is_set_aside_is_said_and_can_be_named(tmp_path):
    bus = Bus()
    for turn in range(12):
        bus.put(0x7E0, bytes([1, 0xF0 + turn, 0, 0, 0, 0, 0, 0]))
    bus.say(0x7E8, "62f19031")
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    result = run(path)
    assert "1 identifier looks like it and was set aside: 7E0 (10 of 12 messages begin with no" in result.stderr
    assert "(7E0, which may have asked, was set aside)" in result.stdout
    named = run(path, "--id", "7E0")
    assert named.stdout.count("  7E0  ") == 12 and "service 0xFB  [FB]" in named.stdout
    assert "set aside" not in named.stderr


def test_an_identifier_is_taken_as_it_is_printed_and_refused_when_it_fits_none(tmp_path):
    bus = Bus()
    for _ in range(3):
        for target, unit in ((0x12, 0x612), (0x40, 0x640)):
            bus.put(0x6F1, bytes([target]) + bytes.fromhex("0322f190aaaaaa"))
            bus.put(unit, bytes.fromhex("f10462f19031aaaa"))
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    assert len(objects(run(path, "--json", "--id", "6F1"))) == 6
    assert [one["request"]["address_byte"] for one in objects(run(path, "--json", "--id", "6F1/12"))] == ["12"] * 3
    assert "fits no identifier" in run(path, "--id", "99999999999").stderr


def test_a_doip_capture_prints_types_known_unknown_and_against_the_standard():
    result = run(CAPTURES / "doip-types.pcapng", "--json")
    assert result.exit_code == 0
    found = objects(result)
    types = Counter(one["type"] for one in found if one["kind"] == "doip")
    types.update("8001" for one in found if one["kind"] == "conversation")
    expected = json.loads((CAPTURES / "expected" / "doip-types.json").read_text())["by_type"]
    assert types == {name[2:].upper(): count for name, count in expected.items()}
    assert [one["refused"] for one in found if one.get("refused")] == ["inverse_version"]
    text = run(CAPTURES / "doip-types.pcapng").stdout
    assert "DoIP 7777 unknown payload type" in text
    assert "the inverse version does not match the version" in text
    assert "code 0x10 activated" in text
    assert "DiagnosticSessionControl extendedDiagnosticSession" in text
    only = objects(run(CAPTURES / "doip-types.pcapng", "--json", "--id", "4010"))
    assert [one["request"]["target"] for one in only] == ["4010"]


def test_damage_is_named_what_was_read_is_kept_and_the_exit_code_says_so(tmp_path):
    bus = Bus()
    bus.say(0x7E0, "1003")
    bus.say(0x7E8, "5003003201f4")
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames) + b"(1.0) can0 7E0#0\n" * 30)
    result = run(path, "--json")
    assert result.exit_code == 1
    assert len(objects(result)) == 1
    assert f"damaged: {path} line 3: " in result.stderr and "10 more places" in result.stderr


@pytest.mark.parametrize("cut", [1, 20])
def test_a_capture_cut_short_gives_what_came_before(tmp_path, cut):
    bodies = [make.can(0x7E0, b"\x02\x3e\x00"), make.can(0x7E8, b"\x02\x7e\x00"), make.can(0x7E0, b"\x02\x3e\x00")]
    path = tmp_path / "x.pcap.gz"
    path.write_bytes(gzip.compress(make.pcap(list(enumerate(bodies)))[:-cut]))
    result = run(path, "--json")
    assert result.exit_code == 1 and "byte " in result.stderr
    assert [len(one["answers"]) for one in objects(result)] == [1]


def test_a_file_that_gives_nothing_is_unusable(tmp_path):
    path = tmp_path / "x.pcap"
    path.write_bytes(make.pcap([(0, make.can(0x7E0, b"\x02"))])[:30])
    assert run(path).exit_code == 2
    path.write_bytes(b"no recording\n")
    assert isinstance(run(path).exception, InputError)


def test_a_reader_that_has_seen_enough_makes_no_noise(tmp_path):
    bus = Bus()
    for _ in range(3000):
        bus.say(0x7E0, "22f190")
        bus.say(0x7E8, "62f19031")
    path = tmp_path / "long.log"
    path.write_bytes(candump(bus.frames))
    command = [sys.executable, "-c", "from witnessmark.cli.decode.command import decode; decode()", str(path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None and process.stderr is not None
        assert b"ReadDataByIdentifier" in process.stdout.readline()
        process.stdout.close()
        said = process.stderr.read()
        assert process.wait() == 0
    assert b"Traceback" not in said and b"Broken" not in said and b"not all of them written" in said


def test_progress_on_a_long_file_goes_to_a_terminal_alone(tmp_path, monkeypatch):
    bus = Bus()
    bus.say(0x7E0, "1003")
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    monkeypatch.setattr("witnessmark.cli.decode.command._LONG", 0)
    assert "reading" not in run(path).stderr
    controller, terminal = os.openpty()
    command = [
        sys.executable,
        "-c",
        f"import witnessmark.cli.decode.command as d; d._LONG = 0; d.decode([{str(path)!r}])",
    ]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=terminal, env={**os.environ, "TERM": "xterm"}
    ) as process:
        os.close(terminal)
        assert process.stdout is not None and b"DiagnosticSessionControl" in process.stdout.read()
        said = b""
        while chunk := _read(controller):
            said += chunk
        assert process.wait() == 0
    os.close(controller)
    assert b"reading x.log" in said and b"1 conversation," in said


def _read(descriptor):
    """Read from a pseudo-terminal; its end is an error on Linux."""
    try:
        return os.read(descriptor, 1000)
    except OSError:
        return b""


def exchanges(many):
    bus = Bus()
    for turn in range(many):
        bus.say(0x7E0, "22f190")
        bus.say(0x7E8, b"\x62\xf1\x90" + turn.to_bytes(3, "big"))
    return bus


@pytest.mark.parametrize("where", ["middle", "sum"])
def test_of_a_damaged_gzip_all_that_came_before_the_damage_is_read(tmp_path, where):
    text = candump(exchanges(2000).frames)
    packed = bytearray(gzip.compress(text, mtime=0))
    packed[len(packed) // 2 if where == "middle" else -8] ^= 0xFF
    path = tmp_path / "x.log.gz"
    path.write_bytes(packed)
    result = run(path, "--json")
    assert result.exit_code == 1 and "gzip is damaged" in result.stderr and "is empty" not in result.stderr
    asked = [one for one in objects(result) if one["request"]]
    whole = 2000 if where == "sum" else 500
    assert len(asked) >= whole
    assert [one["answers"][0]["data"] for one in asked[:whole]] == [f"62f190{turn:06x}" for turn in range(whole)]


def test_standard_input_is_read_gzip_or_not(tmp_path):
    text = candump(exchanges(3).frames)
    for given in (text, gzip.compress(text)):
        result = CliRunner().invoke(decode, ["-", "--json"], input=given)
        assert result.exit_code == 0 and len(objects(result)) == 3


def test_a_byte_order_mark_hides_no_frame(tmp_path):
    path = tmp_path / "x.log"
    path.write_bytes(b"\xef\xbb\xbf" + candump(exchanges(2).frames))
    result = run(path)
    assert result.exit_code == 0 and "4 frames read\n2 conversations, 4 messages, 0 messages lost" in result.stderr


def test_frames_that_cannot_be_on_a_diagnostic_identifier_are_counted(tmp_path):
    bus = exchanges(2)
    for data in ("0210", "0922f190aaaaaaaa", "00aaaaaaaaaaaaaa", "0822f190aaaaaaaa"):
        bus.put(0x7E0, bytes.fromhex(data))
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    assert "frames that ISO 15765-2 tells a receiver to ignore: 7E0 (4)" in run(path).stderr


def test_a_recording_without_times_says_so_and_one_whose_time_runs_back_too(tmp_path):
    path = tmp_path / "x.log"
    path.write_bytes(b"  can0  7E0   [3]  02 3E 00\n  can0  7E8   [3]  02 7E 00\n")
    lines = run(path).stdout.splitlines()
    assert len(lines) == 2 and all("no time recorded  can0" in line for line in lines)
    (one,) = objects(run(path, "--json"))
    assert one["request"]["first_ns"] is None and one["answers"][0]["after_ms"] is None
    path.write_bytes(b"(0.000000) can0 7E0#023E00\n(0.001000) can0 7E8#027E00\n" + path.read_bytes())
    lines = run(path).stdout.splitlines()
    assert "  0.000000  can0" in lines[0] and "+1.0 ms  can0" in lines[1]
    assert len(lines) == 4 and all("no time recorded  can0" in line for line in lines[2:])
    path.write_bytes(b"".join(reversed(candump(exchanges(3).frames).splitlines(keepends=True))))
    assert "time runs backwards 5 times" in run(path).stderr


def test_a_link_type_that_is_not_read_is_named(tmp_path):
    path = tmp_path / "x.pcap"
    path.write_bytes(_strange_pcap())
    result = run(path)
    assert result.exit_code == 1 and "1 packet of link type 147, which is not read" in result.stderr


def _strange_pcap():
    header = bytes.fromhex("d4c3b2a1020004000000000000000000ffff000093000000")
    return header + bytes(8) + (4).to_bytes(4, "little") * 2 + b"abcd"


def test_what_is_missing_of_a_doip_stream_counts_as_lost():
    sums = Sums()
    sums.count([StreamLoss(0, "a", "b", 32, b"")])
    assert sums.lost == 1


def test_what_is_missing_of_a_doip_stream_is_shown_with_the_message_that_it_cuts_off():
    found = Found((), {}, frozenset())
    assert text_of(StreamLoss(0, "a", "b", 1, b""), found).endswith("LOST  1 byte missing")
    assert text_of(StreamLoss(0, "a", "b", 0, b"\2"), found).endswith("LOST  message cut off: 02")
    assert text_of(StreamLoss(0, "a", "b", 2, b"\2"), found).endswith("LOST  2 bytes missing, message cut off: 02")


def test_every_byte_is_shown_when_asked_for(tmp_path):
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, b"\x62\xf1\x90" + bytes(range(40)))
    path = tmp_path / "x.log"
    path.write_bytes(candump(bus.frames))
    assert "... 43 bytes]" in run(path).stdout
    assert bytes(range(40)).hex(" ").upper() + "]" in run(path, "--raw").stdout


def test_a_full_disk_is_told_as_such(tmp_path):
    path = tmp_path / "x.log"
    path.write_bytes(candump(exchanges(3).frames))
    said = (
        "from witnessmark.cli.decode.command import decode\nfrom witnessmark.errors import LocalError\n"
        "try:\n    decode(standalone_mode=False)\nexcept LocalError as error:\n    raise SystemExit(f'told: {error}')\n"
    )
    with open("/dev/full", "wb") as full:
        done = subprocess.run([sys.executable, "-c", said, str(path)], stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 1 and b"told: standard output cannot be written" in done.stderr
