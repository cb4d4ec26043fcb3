"""The practice truck's serial adapter, character by character, on a bus with one that listens."""

from __future__ import annotations

import pytest

from witnessmark_practice.bus import Bus, BusFrame
from witnessmark_practice.serial_adapter import PROMPT, SerialAdapter


class Listener:
    def __init__(self) -> None:
        self.frames: list[BusFrame] = []

    def hear(self, frame: BusFrame) -> None:
        self.frames.append(frame)


class Bench:
    def __init__(self) -> None:
        self.bus, self.listener, self.room = Bus(), Listener(), True
        self.bus.awake = True
        self.adapter = SerialAdapter(self.bus, lambda: self.room)
        self.bus.ears += [self.listener, self.adapter]

    def ask(self, line: str, now_s: float = 1.0) -> str:
        self.adapter.take(line.encode() + b"\n", now_s)
        self.adapter.advance(now_s)
        return self.said()

    def said(self) -> str:
        text = self.adapter.out.decode("latin-1")
        self.adapter.out.clear()
        return text

    def hears(self, can_id: int, data: str, at_s: float = 1.0) -> None:
        self.adapter.hear(BusFrame(can_id, bytes.fromhex(data), can_id > 0x7FF, at_s))


def carry(can_id: str, body: str) -> str:
    text = f"CARRY {can_id} LONG {len(body) // 2} BODY {body}"
    return f"{text} SUM {sum(text.encode()) & 0xFF:02X}"


@pytest.mark.parametrize(
    ("command", "answer"),
    [
        ("GREET", "DEPOT BRIDGE FOURTEEN, LAYOUT ONE"),
        ("FORGET", "FORGOTTEN"),
        ("HEAR ALL", "HEARING ALL"),
        ("HEAR 6BB", "HEARING 6BB"),
        ("HEAR NOTHING", "HEARING NOTHING"),
        ("ONLY HEAR", "ONLY HEARING"),
        ("WHOLE 6B3 6BB", "WHOLE MESSAGES"),
        ("HEAR 6B", "NOT A COMMAND OF MINE"),
        ("WHOLE 6B3 18DAF110", "NOT A COMMAND OF MINE"),
        ("greet", "NOT A COMMAND OF MINE"),
        ("CARRY 6B3", "NOT A COMMAND OF MINE"),
    ],
)
def test_each_command_has_its_answer_and_the_prompt_after_it(command: str, answer: str) -> None:
    assert Bench().ask(command) == f"{answer}\n{PROMPT}"


def test_characters_may_come_one_by_one() -> None:
    bench = Bench()
    for character in b"GREET\r\n":
        bench.adapter.take(bytes((character,)), 1.0)
    assert bench.said() == f"DEPOT BRIDGE FOURTEEN, LAYOUT ONE\n{PROMPT}"


def test_a_frame_is_carried() -> None:
    bench = Bench()
    assert bench.ask(carry("6B3", "023E00")) == f"CARRIED\n{PROMPT}"
    assert bench.listener.frames == [BusFrame(0x6B3, b"\x02\x3e\x00", False, 1.0)]
    bench.ask(carry("18DA10F1", "55"))
    assert bench.listener.frames[-1] == BusFrame(0x18DA10F1, b"\x55", True, 1.0)


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        (carry("6B3", "023E00").replace("LONG 3", "LONG 4"), "LONG DOES NOT FIT"),
        (carry("6B3", "00" * 9), "LONG DOES NOT FIT"),
        (carry("6B3", "023E00")[:-2] + "00", "SUM DOES NOT FIT"),
    ],
)
def test_a_spoilt_command_carries_nothing(line: str, answer: str) -> None:
    bench = Bench()
    assert bench.ask(line).startswith(answer)
    assert bench.listener.frames == []


def test_only_hearing_it_carries_nothing_until_told_to_forget() -> None:
    bench = Bench()
    bench.ask("ONLY HEAR")
    assert bench.ask(carry("6B3", "023E00")).startswith("MAY ONLY HEAR")
    assert bench.listener.frames == []
    bench.ask("FORGET")
    assert bench.ask(carry("6B3", "023E00")).startswith("CARRIED")


def test_on_a_sleeping_bus_nobody_takes_a_frame() -> None:
    bench = Bench()
    bench.bus.awake = False
    assert bench.ask(carry("6B3", "023E00")).startswith("NOBODY TOOK IT")


def test_it_hears_what_it_was_told_to_hear() -> None:
    bench = Bench()
    bench.hears(0x6BB, "55")
    assert bench.said() == ""
    bench.ask("HEAR 6BB")
    bench.hears(0x6BB, "55", 1.5)
    bench.hears(0x6BC, "55")
    text = "HEARD 6BB LONG 1 BODY 55 AT 1500000"
    assert bench.said() == f"{text} SUM {sum(text.encode()) & 0xFF:02X}\n"
    bench.ask("HEAR ALL")
    bench.hears(0x18DAF110, "01")
    assert bench.said().startswith("HEARD 18DAF110 LONG 1 BODY 01 AT ")


def test_frames_that_nobody_takes_are_counted_and_said() -> None:
    bench = Bench()
    bench.ask("HEAR ALL")
    bench.room = False
    for _ in range(3):
        bench.hears(0x6BB, "55")
    assert bench.said() == ""
    bench.room = True
    bench.hears(0x6BB, "56")
    assert bench.said().startswith("MISSED 3 FRAMES\nHEARD 6BB LONG 1 BODY 56")


def test_a_whole_message_is_carried_in_frames_and_one_is_heard() -> None:
    bench = Bench()
    bench.ask("WHOLE 6B3 6BB")
    assert bench.ask(carry("6B3", "22F190F187F195F191")).startswith("CARRIED")
    assert [frame.data.hex() for frame in bench.listener.frames] == ["100922f190f187f1"]
    bench.hears(0x6BB, "300000")
    bench.adapter.advance(1.1)
    assert [frame.data.hex() for frame in bench.listener.frames[1:]] == ["2195f19155555555"]
    bench.hears(0x6BB, "100A62F190AABBCC", 1.2)
    bench.adapter.advance(1.2)
    assert bench.listener.frames[-1].data[:1] == b"\x30"
    assert bench.said() == "BEGINS 6BB\n"
    bench.hears(0x6BB, "21DDEEFF00AAAAAA", 1.3)
    assert bench.said().startswith("HEARD 6BB LONG 10 BODY 62F190AABBCCDDEEFF00 AT 1300000 SUM ")


def test_a_second_message_waits_for_the_first() -> None:
    bench = Bench()
    bench.ask("WHOLE 6B3 6BB")
    bench.ask(carry("6B3", "22F190F187F195F191"))
    assert bench.ask(carry("6B3", "3E00")).startswith("STILL CARRYING")


def test_a_message_whose_receiver_falls_silent_breaks_off() -> None:
    bench = Bench()
    bench.ask("WHOLE 6B3 6BB")
    bench.ask(carry("6B3", "22F190F187F195F191"))
    due_s = bench.adapter.due_s()
    assert due_s is not None
    bench.adapter.advance(due_s + 0.01)
    assert bench.said() == "CARRYING BROKE OFF\n"


def test_a_functional_request_goes_beside_the_pair() -> None:
    bench = Bench()
    bench.ask("WHOLE 6B3 6BB")
    assert bench.ask(carry("7DF", "3E80")).startswith("CARRIED")
    assert bench.listener.frames[-1] == BusFrame(0x7DF, bytes.fromhex("023E805555555555"), False, 1.0)


def test_its_faults_spoil_one_line_or_leave_out_one_prompt() -> None:
    bench = Bench()
    bench.ask("HEAR ALL")
    bench.adapter.garble = bench.adapter.swallow_prompt = 1
    bench.hears(0x6BB, "55")
    spoilt = bench.said()
    bench.hears(0x6BB, "55")
    assert "\xf8" in spoilt
    assert bench.said().startswith("HEARD 6BB LONG 1 BODY 55")
    assert bench.ask("GREET") == "DEPOT BRIDGE FOURTEEN, LAYOUT ONE\n"
    assert bench.ask("GREET").endswith(PROMPT)


def test_a_new_supply_forgets_everything() -> None:
    bench = Bench()
    bench.ask("HEAR ALL")
    bench.adapter.take(b"GRE", 1.0)
    bench.adapter.power_up()
    bench.hears(0x6BB, "55")
    assert bench.said() == ""
    assert bench.ask("GREET").startswith("DEPOT")
