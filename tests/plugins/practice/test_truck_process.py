"""The practice truck as a user meets it: a process, a serial port, hands, and what is left when things break."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import serial
from tests.plugins.practice.truck_process import TruckProcess, running

from witnessmark.clock import SystemClock
from witnessmark.link.address import parse
from witnessmark.plugin import Event, Frame, FrameLink, InputError, LinkError, LocalError, Message, MessageLink, Peer
from witnessmark.wire.isotp import Address, Endpoint, Received
from witnessmark_practice import open_link, practice
from witnessmark_practice.identity import VIN

REQUEST_ID, ANSWER_ID = 0x6B3, 0x6BB


@pytest.fixture
def folder() -> Iterator[Path]:
    """A short path: a socket's name may be about a hundred characters long."""
    import tempfile

    with tempfile.TemporaryDirectory(prefix="wm-") as name:
        yield Path(name)


@pytest.fixture
def truck(folder: Path) -> Iterator[TruckProcess]:
    with running(folder, "--no-traffic") as process:
        yield process


class RawTester:
    """A tester that knows the adapter's words itself and shares nothing with the prompt link."""

    def __init__(self, port: str) -> None:
        self.port = serial.serial_for_url(port, timeout=10)
        for command in ("GREET", "FORGET", "HEAR 6BB"):
            self.command(command)

    def command(self, line: str) -> str:
        self.port.write(line.encode() + b"\n")
        return self.port.read_until(b"your turn: ").decode()

    def send(self, data: bytes) -> None:
        text = f"CARRY 6B3 LONG {len(data)} BODY {data.hex().upper()}"
        assert "CARRIED" in self.command(f"{text} SUM {sum(text.encode()) & 0xFF:02X}")

    def frame(self) -> bytes:
        line = self.port.read_until(b"\n").decode()
        found = re.fullmatch(r"HEARD 6BB LONG (\d) BODY ([0-9A-F]*) AT \d+ SUM ([0-9A-F]{2})\n", line)
        assert found is not None, line
        return bytes.fromhex(found[2])


def test_a_raw_serial_client_reads_the_vehicle_number_frame_by_frame(truck: TruckProcess) -> None:
    truck.ready()
    tester = RawTester(str(truck.folder / "port"))
    tester.send(bytes.fromhex("0322F190"))
    first = tester.frame()
    tester.send(bytes.fromhex("300000"))
    vin = first[5:] + tester.frame()[1:] + tester.frame()[1:]
    assert vin[:17].decode() == VIN
    tester.port.close()


class LinkTester:
    """A tester on our own link: ISO 15765-2 in the client's role."""

    def __init__(self, link: FrameLink, truck: TruckProcess) -> None:
        self.link, self.clock = link, truck.clock
        self.endpoint = Endpoint(Address(REQUEST_ID, ANSWER_ID))
        self.events: list[Event] = []

    def ask(self, request: str, answers: int = 1) -> list[str]:
        self.endpoint.send(bytes.fromhex(request), self.clock.mono_ns())
        return self.hear(answers)

    def hear(self, count: int, *, functional: bool = False) -> list[str]:
        whole: list[str] = []
        deadline_ns = SystemClock().mono_ns() + 10_000_000_000
        while len(whole) < count and SystemClock().mono_ns() < deadline_ns:
            for data in self.endpoint.outgoing(self.clock.mono_ns()):
                self.link.send(Frame(REQUEST_ID, data, self.clock.stamp()))
            for item in self.link.receive(0.05):
                if isinstance(item, Event):
                    self.events.append(item)
                elif item.can_id == ANSWER_ID:
                    told = self.endpoint.receive(item.data, item.stamp.mono_ns)
                    whole += [one.payload.hex().upper() for one in told if isinstance(one, Received)]
        return whole


@pytest.fixture
def tester(truck: TruckProcess) -> Iterator[LinkTester]:
    truck.ready()
    link = open_link(parse(f"practice:{truck.folder}"), truck.clock, False)
    assert isinstance(link, FrameLink)
    yield LinkTester(link, truck)
    link.close()


def test_the_prompt_link_runs_a_wire_command_and_the_truck_agrees_on_how_long(
    truck: TruckProcess, tester: LinkTester
) -> None:
    assert tester.ask("22F190") == ["62F190" + VIN.encode().hex().upper()]
    assert tester.ask("1003") == ["500300C801F4"]
    truck.workshop.do("open", "rear-left")
    assert tester.ask("31017320", 2) == ["7F3178", "7101732001"]
    started_ns = truck.clock.mono_ns()
    while truck.clock.mono_ns() < started_ns + 1_500_000_000:
        tester.link.receive(0.02)
    assert tester.ask("31027320") == ["7102732000"]
    stopped_ns = truck.clock.mono_ns()
    truck.workshop.do("close", "rear-left")
    record = truck.truth()
    (run,) = record["runs"]
    assert run["ended_by"] == "stop"
    # Both clocks are one: the truck's run lies inside what we saw, from our question to our answer.
    assert int(run["start_mono_ns"]) < started_ns
    assert started_ns + 1_500_000_000 < int(run["end_mono_ns"]) < stopped_ns
    assert record["collected_ml"]["rear-left"] > 1
    assert [one["payload"] for one in record["requests"]] == ["22F190", "1003", "31017320", "31027320"]


def test_frames_carry_the_adapters_own_time(tester: LinkTester) -> None:
    assert tester.link.capabilities.device_clock
    tester.link.send(Frame(REQUEST_ID, bytes.fromhex("023E00"), tester.clock.stamp()))
    times = []
    while len(times) < 1:
        times += [item.stamp.device_ns for item in tester.link.receive(1) if isinstance(item, Frame)]
    assert times[0] is not None and times[0] > 0


def test_a_functional_request_is_answered_from_the_units_own_identifier(tester: LinkTester) -> None:
    tester.link.send(Frame(0x7DF, bytes.fromhex("023E00"), tester.clock.stamp()))
    assert tester.hear(1) == ["7E00"]
    tester.link.send(Frame(0x7DF, bytes.fromhex("021002"), tester.clock.stamp()))
    tester.link.send(Frame(0x7DF, bytes.fromhex("0222F1"), tester.clock.stamp()))
    assert tester.hear(1) == ["7F2213"], "12 is never sent to a functional request, 13 is"


def test_the_adapters_second_mode_carries_whole_messages(truck: TruckProcess) -> None:
    truck.ready()
    link = open_link(parse(f"practice:{truck.folder}?level=message"), truck.clock, False)
    assert isinstance(link, MessageLink)
    peer = Peer(REQUEST_ID, ANSWER_ID)
    link.wake(peer)
    link.send(peer, bytes.fromhex("22F190"))
    came: list[Message | Event] = []
    while not any(isinstance(item, Message) for item in came):
        came += link.receive(5)
    assert [item.kind for item in came if isinstance(item, Event)] == ["accepted", "begun"]
    (message,) = (item for item in came if isinstance(item, Message))
    assert (message.peer, message.payload[3:].decode()) == (peer, VIN)
    link.close()


def test_listening_only_nothing_can_be_sent(truck: TruckProcess) -> None:
    truck.ready()
    link = open_link(parse(f"practice:{truck.folder}"), truck.clock, True)
    assert isinstance(link, FrameLink)
    assert (link.capabilities.listen, link.capabilities.can_send) == ("silent", False)
    with pytest.raises(LocalError, match="only listens"):
        link.send(Frame(REQUEST_ID, b"\x02\x3e\x00", truck.clock.stamp()))
    truck.workshop.do("tester", "3E00")
    heard: list[int] = []
    while len(heard) < 2:
        heard += [item.can_id for item in link.receive(5) if isinstance(item, Frame)]
    assert heard == [REQUEST_ID, ANSWER_ID]
    link.close()
    assert truck.truth()["requests"][0]["payload"] == "3E00"


def test_unplugged_in_a_run_the_link_says_lost_and_the_truck_goes_on(truck: TruckProcess, tester: LinkTester) -> None:
    tester.ask("1003")
    truck.workshop.do("fault", "unplugged@1+0.5")
    assert tester.ask("310173401E", 4)[-1] == "7101734001"
    items: list[Frame | Event] = []
    while not any(isinstance(item, Event) and item.kind == "lost" for item in items):
        items += tester.link.receive(5)
    with pytest.raises(LinkError) as error:
        tester.link.send(Frame(REQUEST_ID, b"\x3e", truck.clock.stamp()))
    assert error.value.kind == "gone"
    assert truck.truth()["runs"][0]["ended_by"] == ""
    with pytest.raises(LinkError) as error:
        open_link(parse(f"practice:{truck.folder}"), truck.clock, False)
    assert error.value.kind == "missing"
    truck.workshop.do("fault", "none")
    again = open_link(parse(f"practice:{truck.folder}"), truck.clock, False)
    again.close()


def test_a_garbled_line_and_a_lost_prompt_are_told_and_the_conversation_goes_on(
    truck: TruckProcess, tester: LinkTester
) -> None:
    truck.workshop.do("fault", "garbled")
    truck.workshop.do("fault", "prompt-lost")
    tester.link.send(Frame(REQUEST_ID, bytes.fromhex("023E00"), truck.clock.stamp()))
    assert tester.ask("3E00") == ["7E00"]
    assert [event.kind for event in tester.events].count("garbled") == 2


def test_a_client_killed_outright_leaves_the_port_to_the_next(truck: TruckProcess) -> None:
    truck.ready()
    script = (
        "import os, sys, serial\n"
        "port = serial.serial_for_url(sys.argv[1], timeout=10, exclusive=True)\n"
        "port.write(b'GREET\\nHEAR ALL\\nCARRY 6B3 LO')\n"
        "port.read_until(b'HEARING ALL')\n"
        "os.kill(os.getpid(), 9)\n"
    )
    killed = subprocess.run([sys.executable, "-c", script, str(truck.folder / "port")], timeout=30)
    assert killed.returncode == -9
    link = open_link(parse(f"practice:{truck.folder}"), truck.clock, False)
    assert isinstance(link, FrameLink)
    assert LinkTester(link, truck).ask("3E00") == ["7E00"]
    link.close()


def test_two_testers_cannot_share_the_port(truck: TruckProcess, tester: LinkTester) -> None:
    with pytest.raises(LinkError) as error:
        open_link(parse(f"practice:{truck.folder}"), truck.clock, False)
    assert error.value.kind == "busy"


def test_over_tcp_it_is_the_same_truck(folder: Path) -> None:
    with running(folder, "--tcp", "--no-traffic") as truck:
        truck.ready()
        for _ in range(2):
            link = open_link(parse(f"practice:{folder}"), truck.clock, False)
            assert isinstance(link, FrameLink)
            assert LinkTester(link, truck).ask("22F190")[0].startswith("62F190")
            link.close()


def test_the_trace_holds_every_frame_and_the_end_is_clean(folder: Path) -> None:
    trace = folder / "bus.log"
    with running(folder / "truck", "--trace", str(trace)) as truck:
        truck.ready()
        link = open_link(parse(f"practice:{folder / 'truck'}"), truck.clock, False)
        assert isinstance(link, FrameLink)
        assert LinkTester(link, truck).ask("3E00") == ["7E00"]
        heard: set[int] = set()
        for _ in range(200):  # until ordinary traffic has passed, at most 10 s
            heard |= {one.can_id for one in link.receive(0.05) if isinstance(one, Frame)}
            if 0x1A4 in heard:
                break
        link.close()
    lines = trace.read_text(encoding="ascii").splitlines()
    assert any(line.endswith("can0 6B3#023E00CCCCCCCCCC") for line in lines)
    assert any(line.endswith("can0 6BB#027E00AAAAAAAAAA") for line in lines)
    assert any(" can0 1A4#" in line for line in lines)
    assert sorted(os.listdir(folder / "truck")) == ["lock"], "nothing points to a truck that is gone"


def test_asleep_and_idle_the_truck_takes_no_processor_time(folder: Path) -> None:
    with running(folder) as truck:

        def ticks() -> int:
            fields = Path(f"/proc/{truck.process.pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
            return int(fields[11]) + int(fields[12])

        def turns() -> int:
            status = Path(f"/proc/{truck.process.pid}/status").read_text(encoding="ascii")
            return int(re.findall(r"voluntary_ctxt_switches:\t(\d+)", status)[0])

        truck.truth()
        before_ticks, before = ticks(), turns()
        for _ in range(20):
            truck.workshop.do("read", "gear")
        assert turns() - before < 200, "a few wake-ups for each question, none by itself"
        assert ticks() - before_ticks < 50


def test_a_second_truck_in_one_folder_is_refused(truck: TruckProcess) -> None:
    second = subprocess.run(
        [sys.executable, "-m", "witnessmark_practice", str(truck.folder)], capture_output=True, text=True, timeout=30
    )
    assert second.returncode == 2
    assert "already runs" in second.stderr
    assert "Traceback" not in second.stderr
    assert truck.workshop.do("read", "gear") == "P"


@pytest.mark.parametrize("blocked", ["", "yard/truck.json.new/there", "yard/port/there"])
def test_a_folder_that_cannot_be_written_is_refused_in_words(tmp_path: Path, blocked: str) -> None:
    """A file in the way stands for a folder without the right to write, which a superuser has everywhere."""
    (tmp_path / blocked).mkdir(parents=True, exist_ok=True)
    if not blocked:
        (tmp_path / "yard").write_text("no folder")
    folder = tmp_path / "yard" / "truck" if not blocked else tmp_path / "yard"
    told = subprocess.run(
        [sys.executable, "-c", "from witnessmark.cli.main import main; main()", "practice", "start", str(folder)],
        capture_output=True,
        text=True,
        timeout=30,
    )
    assert told.returncode == 2
    assert f"error: no practice truck can run in {folder}" in told.stderr
    assert "do:  name a folder" in told.stderr and "Traceback" not in told.stderr


def test_its_usage_names_the_command_that_a_user_types(folder: Path) -> None:
    told = subprocess.run([sys.executable, "-m", "witnessmark_practice"], capture_output=True, text=True, timeout=30)
    assert told.returncode == 2 and "witnessmark_practice" not in told.stderr
    assert "error: Missing argument 'FOLDER'" in told.stderr
    assert "  do:  read how it goes: witnessmark practice start --help" in told.stderr


def test_a_wrong_fault_is_refused_in_words(folder: Path) -> None:
    wrong = subprocess.run(
        [sys.executable, "-m", "witnessmark_practice", str(folder), "--fault", "storm"],
        capture_output=True,
        text=True,
        timeout=30,
    )
    assert wrong.returncode == 2
    assert "'storm' is not a fault" in wrong.stderr


def test_without_a_truck_the_error_gives_the_command_that_starts_one(folder: Path) -> None:
    wanted: tuple[Callable[[], object], ...] = (
        lambda: open_link(parse(f"practice:{folder}"), SystemClock(), False),
        lambda: practice(parse(f"practice:{folder}")),
    )
    for act in wanted:
        with pytest.raises(InputError) as error:
            act()
        assert f"witnessmark practice start {folder}" in error.value.hint


def test_a_truck_that_was_killed_is_not_believed_to_run(folder: Path) -> None:
    truck = TruckProcess(folder)
    truck.process.kill()
    truck.process.communicate(timeout=20)
    truck.workshop.close()
    assert (folder / "truck.json").exists()
    with pytest.raises(InputError, match="the practice truck that ran here is gone"):
        open_link(parse(f"practice:{folder}"), SystemClock(), False)
    with running(folder) as again:
        assert again.workshop.do("read", "gear") == "P"


def test_a_wrong_practice_address_says_what_is_wrong(folder: Path) -> None:
    for text, what in (
        ("practice:", "no folder"),
        (f"practice:{folder}?level=bit", "level 'bit' is not known"),
        (f"practice:{folder}?rate=8", "option 'rate' is not known"),
    ):
        with pytest.raises(InputError) as error:
            open_link(parse(text), SystemClock(), False)
        assert error.value.what == what


def test_a_real_vehicle_has_no_workshop() -> None:
    assert practice(parse("prompt:/dev/ttyUSB0?profile=x.toml")) is None


def test_hands_of_a_truck_that_is_gone_say_so(folder: Path) -> None:
    with running(folder) as truck:
        hands = practice(parse(f"practice:{folder}"))
        assert hands is not None
        assert hands.do("read", "gear") == "P"
        with pytest.raises(InputError, match="is not a nipple"):
            hands.do("open", "middle")
    with pytest.raises(LinkError) as error:
        hands.do("read", "gear")
    assert (error.value.kind, truck.process.returncode) == ("gone", 0)
