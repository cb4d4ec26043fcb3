"""The link over a real pseudo-terminal, through pyserial: an interface that behaves and one that does not."""

from __future__ import annotations

import os
import select
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.plugins.prompt.teller import MESSAGES, PROFILE, Teller

from witnessmark.clock import SystemClock
from witnessmark.link.address import parse
from witnessmark.link.port import TakesTurns
from witnessmark.plugin import Event, Frame, FrameLink, LinkError, LocalError, Message, MessageLink, Peer
from witnessmark_prompt import find_links, open_link

CLOCK = SystemClock()
Open = Callable[..., FrameLink]


@pytest.fixture
def teller() -> Iterator[Teller]:
    one = Teller()
    yield one
    one.unplug()


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    path = tmp_path / "bay2.toml"
    path.write_text(PROFILE, encoding="utf-8")
    return path


@pytest.fixture
def link(teller: Teller, profile: Path) -> Iterator[FrameLink]:
    opened = open_link(parse(f"prompt:{teller.port}?profile={profile}"), CLOCK, False)
    assert isinstance(opened, FrameLink)
    yield opened
    opened.close()


def frame(data: str, can_id: int = 0x6B3, *, extended: bool = False) -> Frame:
    return Frame(can_id, bytes.fromhex(data), CLOCK.stamp(), extended=extended)


def collect(link: FrameLink | MessageLink, count: int) -> list[object]:
    """Receive until so many items came; at most 10 s."""
    items: list[object] = []
    deadline_ns = CLOCK.mono_ns() + 10_000_000_000
    while len(items) < count and CLOCK.mono_ns() < deadline_ns:
        items += link.receive(0.5)
    return items


def test_a_frame_goes_out_and_what_the_interface_says_of_it_comes_as_an_event(link: FrameLink, teller: Teller) -> None:
    before = CLOCK.mono_ns()
    stamp = link.send(frame("023E00"))
    assert before <= stamp.mono_ns <= CLOCK.mono_ns()
    assert teller.wait_for(2) == ["who", "say 6B3 3:023E00 *3C"]
    (event,) = collect(link, 1)
    assert isinstance(event, Event)
    assert (event.kind, event.raw) == ("accepted", b"said")


def test_29_bits_have_their_own_command(link: FrameLink, teller: Teller) -> None:
    link.send(frame("3E", 0x18DA10F1, extended=True))
    assert teller.wait_for(2)[-1] == "say 18DA10F1 1:3E *3E"


def test_frames_that_come_by_themselves_are_received_however_they_are_cut(link: FrameLink, teller: Teller) -> None:
    for at in range(0, len(text := b"got 6BB 1:55 *55\ngot 7E8 2:0102 *03\n"), 5):
        teller.say(text[at : at + 5])
    first, second = collect(link, 2)
    assert isinstance(first, Frame) and isinstance(second, Frame)
    assert (first.can_id, first.data, first.origin) == (0x6BB, b"\x55", "received")
    assert (second.can_id, second.data) == (0x7E8, b"\x01\x02")


def test_garbage_is_told_and_kept_and_what_follows_is_read(link: FrameLink, teller: Teller) -> None:
    teller.say(b"\xff\xfe\x00\ngot 6BB 1:55 *54\ngot 6BB 1:55 *55\n")
    first, second, third = collect(link, 3)
    assert isinstance(first, Event) and isinstance(second, Event) and isinstance(third, Frame)
    assert (first.kind, first.raw) == ("garbled", b"\xff\xfe\x00")
    assert (second.kind, second.detail) == ("garbled", "check sum 54 does not fit")


@pytest.mark.parametrize(
    ("said", "kind"), [("not now", "refused"), ("nobody there", "bus_error"), ("line dead", "bus_off")]
)
def test_error_words_become_events(link: FrameLink, teller: Teller, said: str, kind: str) -> None:
    teller.answers["say 6B3 1:3E *3E"] = f"{said}\nnext? "
    link.send(frame("3E"))
    (event,) = collect(link, 1)
    assert isinstance(event, Event)
    assert event.kind == kind
    assert said in event.detail


def test_silence_is_an_empty_list(link: FrameLink) -> None:
    assert list(link.receive(0)) == []
    assert list(link.receive(0.01)) == []


def test_the_descriptor_is_ready_while_lines_wait_that_were_read_during_a_send(link: FrameLink, teller: Teller) -> None:
    teller.answers["say 6B3 1:01 *01"] = "said\ngot 6BB 1:55 *55\nnext? "
    link.send(frame("01"))
    link.send(frame("02"))  # waits for the prompt, and so reads the frame
    fileno = link.fileno()
    assert fileno is not None
    assert select.select([fileno], [], [], 5)[0] == [fileno]
    assert any(isinstance(item, Frame) for item in collect(link, 3))


def test_a_lost_prompt_holds_nothing_up_and_is_told(link: FrameLink, teller: Teller) -> None:
    teller.answers["say 6B3 1:01 *01"] = "said\n"
    link.send(frame("01"))
    link.send(frame("02"))
    assert teller.wait_for(3)[-1] == "say 6B3 1:02 *02"
    items = collect(link, 3)
    assert [item.kind for item in items if isinstance(item, Event)].count("garbled") == 1


def test_an_interface_that_says_nothing_at_all_is_told_and_the_next_command_leaves(
    link: FrameLink, teller: Teller
) -> None:
    teller.answers["say 6B3 1:01 *01"] = None
    link.send(frame("01"))
    teller.wait_for(2)
    with pytest.raises(LinkError) as error:
        link.send(frame("02"))
    assert (error.value.kind, error.value.reached) == ("no_answer", "nothing")
    link.send(frame("02"))
    assert teller.wait_for(3)[-1] == "say 6B3 1:02 *02"


def test_after_an_interrupt_a_stop_leaves_without_waiting_for_the_prompt(teller: Teller, tmp_path: Path) -> None:
    slow = tmp_path / "slow.toml"
    slow.write_text(PROFILE.replace("within_ms = 200", "within_ms = 600000"), encoding="utf-8")
    link = open_link(parse(f"prompt:{teller.port}?profile={slow}"), CLOCK, False)
    assert isinstance(link, FrameLink)
    teller.answers["say 6B3 1:01 *01"] = None
    link.send(frame("01"))
    waiting = threading.Thread(target=lambda: link.send(frame("02")), daemon=True)
    waiting.start()
    link.interrupt()
    waiting.join(10)
    assert not waiting.is_alive()
    assert teller.wait_for(4) == ["who", "say 6B3 1:01 *01", "stop that", "say 6B3 1:02 *02"]
    link.close()


def test_an_interrupt_ends_a_wait(link: FrameLink) -> None:
    came: list[object] = []
    waiting = threading.Thread(target=lambda: came.append(list(link.receive(600))), daemon=True)
    waiting.start()
    link.interrupt()
    waiting.join(10)
    assert came == [[]]


def test_closing_twice_is_fine_and_leaves_no_descriptor_open(teller: Teller, profile: Path) -> None:
    before = len(os.listdir("/proc/self/fd"))
    opened = open_link(parse(f"prompt:{teller.port}?profile={profile}"), CLOCK, False)
    opened.close()
    opened.close()
    assert len(os.listdir("/proc/self/fd")) == before


def test_unplugged_in_mid_frame_is_told_once_and_then_an_error(link: FrameLink, teller: Teller) -> None:
    teller.say(b"got 6BB 1:55 *55\ngot 6BB 8:0102")
    first = collect(link, 1)
    assert isinstance(first[0], Frame)
    teller.unplug()
    items = collect(link, 1)
    assert isinstance(items[-1], Event)
    assert (items[-1].kind, items[-1].raw) == ("lost", b"got 6BB 8:0102")
    with pytest.raises(LinkError) as error:
        link.receive(0.1)
    assert error.value.kind == "gone"
    with pytest.raises(LinkError) as error:
        link.send(frame("3E"))
    assert error.value.kind == "gone"


def test_frames_it_cannot_carry_are_refused(link: FrameLink) -> None:
    for wrong in (
        Frame(0x6B3, bytes(9), CLOCK.stamp()),
        Frame(0x6B3, bytes(8), CLOCK.stamp(), fd=True),
        Frame(0x6B3, b"", CLOCK.stamp(), kind="remote"),
    ):
        with pytest.raises(LocalError, match="data frames of up to 8 bytes"):
            link.send(wrong)


def opening(address: str, *, listen_only: bool = False) -> LocalError | LinkError:
    before = len(os.listdir("/proc/self/fd"))
    with pytest.raises((LocalError, LinkError)) as error:
        open_link(parse(address), CLOCK, listen_only)
    assert len(os.listdir("/proc/self/fd")) == before, "something stayed open"
    assert error.value.hint
    return error.value


def test_listen_only_is_refused_where_the_profile_has_no_way(teller: Teller, profile: Path) -> None:
    error = opening(f"prompt:{teller.port}?profile={profile}", listen_only=True)
    assert "no way to make the interface listen only" in str(error)
    assert teller.heard == []


def test_a_missing_port_a_taken_one_and_a_wrong_name_differ(teller: Teller, profile: Path, link: FrameLink) -> None:
    missing = opening(f"prompt:/dev/no-such-port?profile={profile}")
    taken = opening(f"prompt:{teller.port}?profile={profile}")
    wrong = opening(f"prompt:nonsense://x?profile={profile}")
    refused = opening(f"prompt:socket://127.0.0.1:9?profile={profile}")
    assert [getattr(error, "kind", "input") for error in (missing, taken, wrong, refused)] == [
        "missing",
        "busy",
        "input",
        "missing",
    ]


def test_no_permission_has_its_own_kind(profile: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def deny(*args: object, **options: object) -> object:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("serial.serial_for_url", deny)
    error = opening(f"prompt:/dev/ttyS0?profile={profile}")
    assert isinstance(error, LinkError)
    assert (error.kind, error.reached) == ("permission", "nothing")


@pytest.mark.parametrize(("answer", "kind"), [(None, "no_answer"), ("who are you\nnext? ", "garbled")])
def test_no_answer_and_a_wrong_answer_at_the_start_differ(
    teller: Teller, tmp_path: Path, answer: str | None, kind: str
) -> None:
    quick = tmp_path / "quick.toml"
    quick.write_text(PROFILE.replace("within_ms = 3000", "within_ms = 200"), encoding="utf-8")
    teller.answers["who"] = answer
    error = opening(f"prompt:{teller.port}?profile={quick}")
    assert isinstance(error, LinkError)
    assert error.kind == kind


def test_a_start_up_command_may_be_tried_again(tmp_path: Path) -> None:
    patient = tmp_path / "patient.toml"
    patient.write_text(PROFILE.replace("within_ms = 3000", "within_ms = 3000\nattempts = 2"), encoding="utf-8")
    first = iter(("what?\nnext? ",))
    teller = Teller(lambda line: next(first, None) if line == "who" else None)
    try:
        open_link(parse(f"prompt:{teller.port}?profile={patient}"), CLOCK, False).close()
        assert teller.heard.count("who") == 2
    finally:
        teller.unplug()


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("prompt:?profile=x.toml", "no port"),
        ("prompt:/dev/x", "option 'profile' is missing"),
        ("prompt:/dev/x?profle=y", "option 'profle' is not known"),
    ],
)
def test_a_wrong_address_says_what_is_wrong(text: str, what: str) -> None:
    assert what in str(opening(text))


def test_looking_for_ports_opens_nothing_and_gives_addresses() -> None:
    assert all(str(address).startswith("prompt:") for address, _ in find_links())


def test_an_echo_of_our_commands_is_no_answer(teller: Teller, tmp_path: Path) -> None:
    echoing = tmp_path / "echoing.toml"
    echoing.write_text(PROFILE.replace('line_end = "\\n"', 'line_end = "\\n"\necho = true'), encoding="utf-8")
    teller.answers["who"] = "who\nteller one\nnext? "
    teller.answers["say 6B3 1:3E *3E"] = "say 6B3 1:3E *3E\nsaid\nnext? "
    link = open_link(parse(f"prompt:{teller.port}?profile={echoing}"), CLOCK, False)
    assert isinstance(link, FrameLink)
    link.send(frame("3E"))
    (event,) = collect(link, 1)
    assert isinstance(event, Event)
    assert event.kind == "accepted"
    link.close()


@pytest.fixture
def messages(teller: Teller, tmp_path: Path) -> Iterator[MessageLink]:
    path = tmp_path / "messages.toml"
    path.write_text(MESSAGES, encoding="utf-8")
    teller.answers["talk to 6B3, listen to 6BB"] = "fine\nnext? "
    opened = open_link(parse(f"prompt:{teller.port}?profile={path}"), CLOCK, False)
    assert isinstance(opened, MessageLink)
    yield opened
    opened.close()


def test_whole_messages_go_to_a_peer_whose_address_is_set_once(messages: MessageLink, teller: Teller) -> None:
    peer = Peer(0x6B3, 0x6BB)
    assert list(messages.wake(peer)) == []
    messages.send(peer, b"\x3e\x00")
    messages.send(peer, b"\x3e\x80")
    assert teller.wait_for(4) == ["who", "talk to 6B3, listen to 6BB", "say 6B3 2:3E00 *3E", "say 6B3 2:3E80 *BE"]


def test_an_answer_belongs_to_its_peer_and_tells_when_it_began(messages: MessageLink, teller: Teller) -> None:
    peer = Peer(0x6B3, 0x6BB)
    teller.answers["say 6B3 3:22F190 *43"] = "said\nstarts 6BB\nfrom 6BB 3:62F190 *03\nnext? "
    messages.send(peer, bytes.fromhex("22F190"))
    accepted, begun, message = collect(messages, 3)
    assert isinstance(accepted, Event) and isinstance(begun, Event) and isinstance(message, Message)
    assert (begun.kind, begun.peer) == ("begun", peer)
    assert (message.peer, message.payload, message.raw) == (peer, bytes.fromhex("62F190"), (b"from 6BB 3:62F190 *03",))
    assert message.first.mono_ns <= message.last.mono_ns


def test_an_address_that_is_refused_is_an_error_and_nothing_is_sent(messages: MessageLink, teller: Teller) -> None:
    teller.answers["talk to 6B4, listen to 6BC"] = "not now\nnext? "
    with pytest.raises(LinkError) as error:
        messages.send(Peer(0x6B4, 0x6BC), b"\x3e\x00")
    assert error.value.reached == "nothing"
    assert teller.heard == ["who", "talk to 6B4, listen to 6BC"]


def test_after_an_address_that_was_refused_the_one_before_is_set_anew(messages: MessageLink, teller: Teller) -> None:
    messages.send(Peer(0x6B3, 0x6BB), b"\x3e\x00")
    teller.answers["talk to 6B4, listen to 6BC"] = "not now\nnext? "
    with pytest.raises(LinkError):
        messages.send(Peer(0x6B4, 0x6BC), b"\x3e\x00")
    messages.send(Peer(0x6B3, 0x6BB), b"\x3e\x80")
    assert teller.wait_for(6)[-3:] == ["talk to 6B4, listen to 6BC", "talk to 6B3, listen to 6BB", "say 6B3 2:3E80 *BE"]


def test_a_link_is_free_when_it_would_not_wait_for_a_prompt(link: FrameLink, teller: Teller) -> None:
    assert isinstance(link, TakesTurns) and link.free()
    teller.answers["say 6B3 3:023E00 *3C"] = None
    link.send(frame("023E00"))
    assert not link.free()
    link.interrupt()
    assert link.free(), "a stop waits for no prompt"


def test_a_link_is_free_again_when_the_interface_has_had_its_time(link: FrameLink, teller: Teller) -> None:
    teller.answers["say 6B3 3:023E00 *3C"] = None
    link.send(frame("023E00"))
    assert isinstance(link, TakesTurns)
    deadline_ns = CLOCK.mono_ns() + 10_000_000_000
    while not link.free() and CLOCK.mono_ns() < deadline_ns:
        link.receive(0.05)
    assert link.free()
