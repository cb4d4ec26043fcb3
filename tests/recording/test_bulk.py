"""The bulk reading against the plain one: on the recordings of others and on traffic made to be awkward. The plain
reading is the reference, and has tests of its own."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.recording.traffic import Bus, candump, segments

from witnessmark.recording.bulk import rows, text
from witnessmark.recording.bulk.exchanges import Exchanges
from witnessmark.recording.bulk.heads import read_heads
from witnessmark.recording.bulk.reading import read_text
from witnessmark.recording.bulk.shape import shape_of
from witnessmark.recording.candump import lines_of, read_candump
from witnessmark.recording.conversation import read_head
from witnessmark.recording.reading import read_frames

CAPTURES = Path(__file__).parents[1] / "captures"


def assert_alike(content: bytes, may_hand_back: bool = False) -> list:
    """Both readings find the same conversations, lines, damage and number of frames. Returns the conversations."""
    plain_damage, bulk_damage = [], []
    frames = list(read_candump(lines_of(content), "x", plain_damage.append))
    plain = read_frames(frames)
    found = read_text(content, "x", bulk_damage.append)
    if found is None and may_hand_back:
        return list(plain.conversations)
    assert found is not None
    bulk, count = found
    assert bulk.found == plain.found
    assert list(bulk.conversations) == list(plain.conversations)
    assert [str(error) for error in bulk_damage] == [str(error) for error in plain_damage]
    assert count == len(frames)
    return list(plain.conversations)


@pytest.mark.parametrize("name", ["fault-scan", "battery-polling", "answers-only", "no-diagnostics"])
def test_the_recordings_of_others_are_read_alike(name):
    assert_alike((CAPTURES / f"{name}.log").read_bytes())


@pytest.fixture
def small_windows(monkeypatch):
    """Chunks of text, blocks of lines and windows of rows so small that every border is crossed."""
    monkeypatch.setattr(text, "_CHUNK", 211)
    monkeypatch.setattr(rows, "_BLOCK", 3)
    monkeypatch.setattr(rows, "_WINDOW", 5)


@pytest.mark.parametrize("name", ["fault-scan", "battery-polling", "answers-only", "no-diagnostics"])
def test_small_windows_give_what_one_large_one_gives(name, small_windows):
    content = b"".join((CAPTURES / f"{name}.log").read_bytes().splitlines(keepends=True)[:400])
    behind = []
    assert_alike(content)
    assert read_text(content, "x", lambda error: None, behind.append) is not None
    assert len(behind) > len(content) // 211 and max(behind) <= len(content)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(frames=st.deferred(lambda: recordings()))
def test_awkward_traffic_is_read_alike_across_every_border(small_windows, frames):
    assert_alike(candump(frames), may_hand_back=True)


def line(us: int, can_id: str, data: str) -> bytes:
    return f"({us // 1_000_000}.{us % 1_000_000:06d}) can0 {can_id}#{data}\n".encode()


S = 1_000_000
T = 1_000 * S
ODD = {
    "a lost answer that begins as 0x78 does gives no time": [
        (T, "7E0", "0322F190"), (T + 4 * S, "7E8", "10147F2278010203"), (T + 4 * S + 1, "7E8", "10147F2278010203"),
        (T + 8 * S, "7E8", "0462F19001"),
    ],
    "a long answer that begins as 0x78 does": [
        (T, "7E0", "0322F190"), (T + 4 * S, "7E8", "10087F2278010203"), (T + 4 * S + 1, "7E8", "2104050607080900"),
        (T + 8 * S, "7E8", "0462F19001"),
    ],
    "a gap of just N_Cr": [(T, "7E8", "100962F190010203"), (T + S, "7E8", "21040506")],
    "a gap of more": [(T, "7E8", "100962F190010203"), (T + S + 1, "7E8", "21040506")],
    "the last moment of the window": [(T, "7E0", "0322F190"), (T + 6 * S, "7E8", "0462F19001")],
    "a moment later": [(T, "7E0", "0322F190"), (T + 6 * S + 1, "7E8", "0462F19001")],
    "all in one moment": [(T, "7E0", "021003"), (T, "7E8", "0450030032"), (T, "7E0", "021001"), (T, "7E8", "025001")],
    "an answer before its request": [(T, "7E8", "0450030032"), (T, "7E0", "021003")],
    "frames of one byte and of none": [(T, "7E0", "21"), (T, "7E8", "30"), (T, "7E0", ""), (T, "7E0", "021003")],
    "the same number with 11 and with 29 bits": [(T, "7E0", "021003"), (T + 1, "000007E8", "0450030032")],
    "lengths that fit no frame": [(T, "7E8", "0801020304050607"), (T, "7E8", "0F01020304050607"), (T, "7E8", "025001")],
    "a message of one frame in the midst of another": [
        (T, "7E8", "101462F190010203"), (T + 1, "7E8", "037E0022AAAAAAAA"), (T + 2, "7E8", "2104050607080900"),
        (T + 3, "7E8", "2204050607080900"), (T + 4, "7E8", "2304050607080900"), (T + 5, "7E8", "037E0022AAAAAAAA"),
        (T + 6, "7E8", "2104050607080900"),
    ],
    "two messages of one frame in the midst of another": [
        (T, "7E8", "101462F190010203"), (T + 1, "7E8", "037E0022"), (T + 2, "7E8", "037E0022"),
        (T + 3, "7E8", "2104050607080900"),
    ],
    "a message of one frame behind a whole one with a frame too many": [
        (T, "7E8", "100962F190010203"), (T + 1, "7E8", "21040506"), (T + 2, "7E8", "22040506"),
        (T + 3, "7E8", "037E0022"), (T + 4, "7E8", "21040506"),
    ],
    "another message without its beginning behind a gap": [
        (T, "7E8", "101462F190010203"), (T + 2 * S, "7E8", "2204050607080900"),
        (T + 2 * S + 1, "7E8", "2304050607080900"), (T + 2 * S + 2, "7E8", "037E0022AAAAAAAA"),
    ],
    "a message that the recording ends": [(T, "7E8", "100962F190010203"), (T + S, "123", "00")],
    "a message that the recording goes on without": [(T, "7E8", "100962F190010203"), (T + S + 1, "123", "00")],
    "a message refused by its receiver": [
        (T, "7E0", "0322F190"), (T + 1, "7E8", "101462F190010203"), (T + 2, "7E0", "320000"), (T + S, "7E0", "023E00"),
    ],
    "sequence numbers that start anew": [
        (T, "7E8", "107762F190010203"),
        *((T + at, "7E8", f"2{at & 15:X}01020304050607") for at in range(1, 18)),
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", ODD)
def test_odd_sequences_are_read_alike(name):
    assert assert_alike(b"".join(line(*one) for one in ODD[name]))


@pytest.mark.parametrize(
    "content",
    [
        b"# a\n# b\n", b"\n", b"hello world, hello\n" * 3, b"(1.0) ca\0n0 7E0#021003\n", b"(1.0) a#b 7E0#021003\n",
        b"(1.0) 7E0#11 7E0#021003\n", b"(1.0)\x0bcan0 7E0#021003\n", b"(1.0) can0 7E0#021003 \t\n",
        b"(1.:0) c 7E0#00\n", b"can0 7E0#021003\n(1.0) can0 7E8#0450030032\n can0 7E0 [2] 01 04\n(2.0) can0 7E0#0104\n",
        b"(9999999999.0) can0 123#FF\n(1.0) can0 7E0#021003\n", b"(1.0) can0 7E0#R8\n(1.0) can0 7E0#021003\n",
        b"(1.0) can\xff 7E0#021003\n(1.1) can\xff 7E8#0450030032\n", b"(1.0) can0 7E0##4021003\n",
    ],
)  # fmt: skip
def test_odd_lines_are_read_alike(content):
    assert_alike(content)


def test_an_address_byte_at_a_time_beyond_64_bits_is_handed_back():
    late = b"(9999999999.000000) can0 6F1#12021003\n(9999999999.100000) can0 612#F1065003003201F4\n"
    assert read_text(late + b"(1.0) can0 7E0#021003\n", "x", lambda error: None) is None


IDS = (0x7E0, 0x7E8, 0x7E1, 0x7E9, 0x7DF, 0x72D, 0x79B, 0x7BB, 0x123, 0x18DA10F1, 0x18DAF110, 0x18DB33F1)
UNCLEAR = (0x72D, 0x79B, 0x7BB)
SERVICES = (0x10, 0x22, 0x2E, 0x31, 0x3E, 0x04, 0x21, 0x19)


@st.composite
def payloads(draw):
    service = draw(st.sampled_from(SERVICES))
    body = draw(st.binary(max_size=draw(st.sampled_from((4, 40)))))
    return draw(
        st.sampled_from(
            (
                bytes([service]) + body,
                bytes([service | 0x40]) + body,
                bytes([0x7F, service, draw(st.sampled_from((0x78, 0x31, 0x22)))]),
                body or b"\0",
                bytes([0x22, 0xF1, 0x90]),
                bytes([0x62, 0xF1, 0x90]) + body,
                bytes([0x7F, service]),
            )
        )
    )


@st.composite
def recordings(draw):
    """Interleaved messages with frames lost, doubled and swapped, gaps, odd frames and times that stand still."""
    bus = Bus()
    waiting: list[tuple[int, list[bytes]]] = []
    ids = draw(st.sampled_from((IDS, [number for number in IDS if number not in UNCLEAR])))
    for _ in range(draw(st.integers(1, 14))):
        waiting.append(
            (draw(st.sampled_from(ids)), segments(draw(payloads()), pad=draw(st.sampled_from((b"\xaa", b"")))))
        )
        if draw(st.integers(0, 9)) == 0:
            waiting.append((draw(st.sampled_from(ids)), [draw(st.binary(max_size=8))]))
    while waiting:
        can_id, frames = draw(st.sampled_from(waiting[:3]))
        fault = draw(st.integers(0, 30))
        if fault == 0:
            frames.pop(0)
        elif fault == 1:
            bus.put(can_id, frames[0])
        elif fault == 2:
            bus.wait(draw(st.sampled_from((-0.5, 900, 1001, 5990, 6001))))
        elif fault == 3:
            bus.put(can_id, b"\x30\0\0")
        elif fault == 4:
            frames[0] = frames[0][:-1]
        elif fault == 5:
            bus.wait(-1)
        if frames:
            bus.put(can_id, frames.pop(0), channel=draw(st.sampled_from(("can0", "can0", "can0", "vcan1"))))
        waiting = [entry for entry in waiting if entry[1]]
    return bus.frames


@settings(max_examples=150, deadline=None)
@given(recordings())
def test_awkward_traffic_is_read_alike(frames):
    # Identifiers of nobody's standard may look like extended addressing, which is handed back; nothing else is.
    assert_alike(
        candump(frames), may_hand_back=not frames or any(frame.can_id in (0x72D, 0x79B, 0x7BB) for frame in frames)
    )


@settings(max_examples=60, deadline=None)
@given(recordings(), st.data())
def test_damaged_text_is_read_alike(frames, data):
    content = bytearray(candump(frames))
    for _ in range(data.draw(st.integers(1, 6))):
        if not content:
            break
        at = data.draw(st.integers(0, len(content) - 1))
        how = data.draw(st.integers(0, 3))
        if how == 0:
            content[at] = data.draw(st.sampled_from(b"0123456789abcdefABCDEFgG# ().R\n\r\xff"))
        elif how == 1:
            del content[at]
        elif how == 2:
            content[at:at] = data.draw(st.sampled_from((b"\n", b"\r\n", b"0", b"garbage\n", b"(1.0) can0 7E8#R\n")))
        else:
            del content[at:]
    assert_alike(bytes(content), may_hand_back=True)  # a digit more in a time may be more than 64 bits hold


def test_lines_of_many_forms_in_one_file_are_read_alike():
    content = (
        b"(1.000000) can0 7E0#021003\n"
        b"(1.100000) can0 7E8#065003003201F4AA R\n"
        b"(1.2) vcan12 7E0#023E00 T\r\n"
        b"\n# a comment\n"
        b"(1.300000000) vcan12 7E8#027e00\r\n"
        b"(0000000001.400000) can0 18DA10F1#021003\n"
        b"(1.500000) can0 18DAF110#065003003201F4\n"
        b" (1.600000)  can0  7E0   [3]  02 11 01\n"
        b"(1.700000) can0 20000080#0000000000000000\n"
        b"(1.8) can0 7E8##0025101\n"
        b"(1.9) can0 7E8#R8\n"
        b"(1.95) can0 7FF#\n"
        b"(1.96) can0 123#1\n"
        b"(1.97) can0 8FF#11\n"
        b"(1.97) can0 88DA10F1#03100000\n"
        b"(1.97) can0 FFFFFFFF#03100000\n"
        b"(1.98) can0 456#11"
    )
    conversations = assert_alike(content)
    assert len(conversations) == 4 and all(len(one.answers) == 1 for one in conversations)


def test_what_is_not_for_bulk_reading_is_handed_back():
    for content in (
        b"(1.0) can0 7E0##0" + b"00" * 12 + b"\n",
        b"(9999999999.0) can0 7E0#021003\n",
        b"(1.0) can0 18CE10F1#42021003\n",
        b"(1.0) can0 6F1#12021003\n(1.1) can0 612#F1065003003201F4\n",
        b"",
    ):
        assert read_text(content, "x", lambda error: None) is None


def test_a_message_that_needs_the_escape_length_is_read_alike():
    body = bytes([0x62, 0xF1, 0x90]) + bytes(5000)
    frames = [b"\x10\x00" + len(body).to_bytes(4, "big") + body[:2]]
    frames += [
        bytes([0x20 | (at // 7 + 1) & 15]) + body[2:][at : at + 7].ljust(7, b"\0") for at in range(0, len(body) - 2, 7)
    ]
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.put(0x7E8, bytes.fromhex("1000000000080102"))
    for data in frames:
        bus.put(0x7E8, data)
    (one,) = assert_alike(candump(bus.frames))
    assert one.answers[0].payload == body


def test_a_pending_answer_that_comes_too_late_is_read_alike():
    bus = Bus()
    bus.say(0x7E0, "3101ff00")
    for wait_ms in (5000, 5000, 7000, 100):
        bus.wait(wait_ms)
        bus.say(0x7E8, "7f3178")
    bus.say(0x7E8, "7101ff0000")
    conversations = assert_alike(candump(bus.frames))
    assert [one.pending for one in conversations] == [2, 1, 1, 0]


def test_conversations_are_a_sequence_and_the_arrays_say_the_same():
    found = read_text((CAPTURES / "fault-scan.log").read_bytes(), "x", lambda error: None)
    assert found is not None
    exchanges = found[0].conversations
    assert isinstance(exchanges, Exchanges) and len(exchanges) == 226
    assert exchanges[-1] == exchanges[225] and exchanges[3:5] == [exchanges[3], exchanges[4]]
    with pytest.raises(IndexError):
        exchanges[226]
    table, heads = exchanges.told.table, exchanges.heads
    for place in range(table.line.size):
        part = exchanges.told.message(place)
        assert part in exchanges[int(exchanges.conversation[place])].parts()
        if table.whole[place]:
            facts = read_head(part.payload)
            assert heads.service[place] == facts.service
            assert heads.response_code[place] == (-1 if facts.response_code is None else facts.response_code)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.binary(min_size=1, max_size=6), min_size=1, max_size=20), st.integers(0, 255))
def test_heads_in_bulk_are_the_heads_one_by_one(messages, first):
    import numpy as np

    messages = [*messages, *(bytes([first, *rest]) for rest in ((), (0x81,), (1, 2), (0x83, 2, 3), (1, 2, 3, 4)))]
    start = np.array([list(message[:4].ljust(4, b"\0")) for message in messages], np.uint8)
    columns = read_heads(start, np.array([len(message) for message in messages]))
    for place, message in enumerate(messages):
        facts = read_head(message)
        for name, column in columns._asdict().items():
            expected = getattr(facts, name)
            assert column[place] == (-1 if expected is None else expected), (message.hex(), name)


def test_a_shape_is_found_only_in_the_regular_form():
    shape = shape_of(b"(1436509052.249713) can0 7E8#0641008000000100")
    assert shape is not None
    assert (shape.channel, shape.extended, shape.size, shape.digits) == ("can0", False, 8, 10 + 6 + 3 + 3 + 16)
    for line in (
        b"(1.0) can0 7E8#064",
        b"(1.0)  can0  7E8   [1]  06",
        b"(1.0) can0 7E8##006",
        b"(1.0) can0 7E8#R",
        b"",
    ):
        assert shape_of(line) is None
