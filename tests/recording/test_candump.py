"""candump text. The forms are those that can-utils' candump and python-can write (from memory; python-can's is checked
against the library in tests/oracles)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.link.frame import Frame
from witnessmark.recording.candump import lines_of, read_candump, read_line
from witnessmark.recording.line import NO_TIME_NS


def line(text: str) -> Frame | None:
    return read_line(text.encode())


@pytest.mark.parametrize(
    ("text", "can_id", "extended", "data", "origin"),
    [
        ("(1436509052.249713) can0 7E8#0641008000000100", 0x7E8, False, "0641008000000100", "received"),
        ("(1436509052.249713) vcan0 18DAF110#0210ff", 0x18DAF110, True, "0210ff", "received"),
        ("(1436509052.249713) can0 00000123#", 0x123, True, "", "received"),
        ("(1436509052.249713) can0 123#11.22.33", 0x123, False, "112233", "received"),
        ("(1436509052.249713) can0 7E0#021003 T", 0x7E0, False, "021003", "sent"),
        ("(1436509052.249713) can0 7E0#021003 tx", 0x7E0, False, "021003", "sent"),
        ("(1436509052.249713) can0 7E0#021003 rx", 0x7E0, False, "021003", "received"),
        ("(1436509052.249713) can0 7E0#0102030405060708_9", 0x7E0, False, "0102030405060708", "received"),
        ("(1436509052.249713) can0 7E0#021003 R\r", 0x7E0, False, "021003", "received"),
        ("(1436509052.249713)  can0  7E8   [3]  02 50 03", 0x7E8, False, "025003", "received"),
        ("  can0  18DAF110   [3]  02 50 03", 0x18DAF110, True, "025003", "received"),
        (" (1436509052.249713)  can0  TX - -  7E0   [2]  01 3E   '.>'", 0x7E0, False, "013e", "sent"),
        (" (1436509052.249713)  can0  RX B E  7E0  [02]  01 3E", 0x7E0, False, "013e", "received"),
        (" (2015-07-10 07:50:52.249713)  can0  7E0   [2]  01 3E", 0x7E0, False, "013e", "received"),
    ],
)
def test_each_form_of_a_line_gives_its_frame(text, can_id, extended, data, origin):
    frame = line(text)
    assert frame is not None
    assert (frame.can_id, frame.extended, frame.data.hex(), frame.origin) == (can_id, extended, data, origin)
    time_ns = 1436514652249713000 if "2015" in text else 1436509052249713000
    assert frame.stamp.wall_ns == (time_ns if "(" in text else NO_TIME_NS)
    assert frame.channel in ("can0", "vcan0")


def test_fd_frames_keep_up_to_64_bytes():
    frame = line("(1.5) can1 7E8##1" + "AB" * 64)
    assert frame is not None and frame.fd and len(frame.data) == 64 and frame.stamp.wall_ns == 1_500_000_000
    spaced = line("  can1  7E8  [12]  " + "AB " * 12)
    assert spaced is not None and spaced.fd and len(spaced.data) == 12


@pytest.mark.parametrize("text", ["(1.0) can0 7E0#R", "(1.0) can0 7E0#R8", " (1.0)  can0  7E0   [8]  remote request"])
def test_remote_frames_are_frames_without_data(text):
    frame = line(text)
    assert frame is not None and frame.kind == "remote" and frame.data == b""


@pytest.mark.parametrize(
    "text",
    [
        "(1.0) can0 20000080#0000000000000000",
        " (1.0)  can0  20000080   [8]  00 00 00 00 00 00 00 00   ERRORFRAME",
        "",
        "  ",
        "# a comment",
    ],
)
def test_error_frames_and_empty_lines_are_no_frames(text):
    assert line(text) is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("(1.0) can0 7E0#021", "half a byte"),
        ("(1.0) can0 7E0#001122334455667788", "fit no CAN frame"),
        ("(1.0) can0 7E0#00112233445566778899AABB", "fit no CAN frame"),
        ("(1.0) can0 7E0##100112233445566778899", "fit no CAN FD frame"),
        ("(1.0) can0 800#00", "does not fit 11 bits"),
        ("(1.0) can0 7E00#00", "not a line"),
        ("(1.0) can0 7E0   [3]  02 10", "2 bytes of data where 3"),
        ("(1.0) can0 7E0   [2]  02 1G", "not bytes"),
        ("(2015-13-10 07:50:52.249713)  can0  7E0   [2]  01 3E", "2015-13-10"),
        ("garbage", "not a line"),
    ],
)
def test_a_line_that_cannot_be_read_says_why(text, says):
    with pytest.raises(ValueError, match=says):
        line(text)


def test_damage_names_the_line_and_the_rest_is_read():
    damage: list[InputError] = []
    content = b"(1.0) can0 123#11\ngarbage\n\n(2.0) can0 123#22\n(3.0) can0 123#2"
    frames = list(read_candump(lines_of(content), "x.log", damage.append))
    assert [frame.data for frame in frames] == [b"\x11", b"\x22"]
    assert [error.place for error in damage] == ["x.log line 2", "x.log line 5"]


@given(st.lists(st.binary(max_size=40).filter(lambda part: b"\n" not in part), max_size=20))
def test_lines_are_cut_at_line_ends_and_nowhere_else(parts):
    content = b"\n".join(parts)
    found = list(lines_of(content))
    assert found == (parts if parts and parts[-1] else parts[:-1])
