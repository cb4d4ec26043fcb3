"""`witnessmark protocol probe, listen, name, take, show, diff`, as a technician and a lead type them."""

from __future__ import annotations

import shlex
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import msgspec
import pytest
from click.testing import CliRunner, Result
from tests.mapping.recorded_truck import RecordedTruck
from tests.plugins.practice.truck_process import TruckProcess, running

import witnessmark_practice
from witnessmark.cli.main import witnessmark
from witnessmark.cli.protocol.probe import _Line
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.host.shop import Shop
from witnessmark.mapping.load import load, load_vehicle, to_text
from witnessmark.mapping.model import VehicleMap
from witnessmark.mapping.probe import Progress
from witnessmark.mapping.probe_log import Logged, LoggedAnswer, ProbeLog
from witnessmark_practice.wire_commands import WIRE_COMMANDS

DATA = Path(witnessmark_practice.__file__).parent / "data"
ROOT = Path(__file__).parents[2]
CAPTURES = ROOT / "tests" / "captures"


def run(*words: object, typed: str = "") -> Result:
    return CliRunner().invoke(witnessmark, ["protocol", *map(str, words)], input=typed)


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as truck:
        truck.workshop.do("wake")
        yield truck


def probe(truck: TruckProcess, output: Path, *more: object, typed: str = "y\n") -> Result:
    words = ("--no-standard", "--address", "6B3:6BB", "--by", "t-otter", *more)
    return run("probe", "--link", f"practice:{truck.folder}", "-o", output, *words, typed=typed)


def test_a_probed_vehicle_gives_a_map_that_can_be_shown_taken_and_compared(truck: TruckProcess, tmp_path: Path) -> None:
    whole, unit, page = tmp_path / "truck.json", tmp_path / "unit.json", tmp_path / "truck.html"
    result = probe(truck, whole, "--identifiers", "7001-7004")
    assert result.exit_code == 0, (result.output, result.exception)
    assert "1 control unit" in result.output and "parked" in result.stderr
    assert load_vehicle(whole).units[0].address.request == "6B3" and load_vehicle(whole).invented
    shown = run("show", whole, "--shop", tmp_path / "shop")
    assert "DEPOT-BCU-1400" in shown.output and "22 F190" in shown.output
    assert run("show", whole, "--html", page).exit_code == 0 and "6B3 &gt; 6BB" in page.read_text(encoding="utf-8")
    assert run("take", whole, "-o", unit).exit_code == 0 and load(unit) == load_vehicle(whole).units[0]
    differing = run("diff", DATA / "map.json", unit)
    assert differing.exit_code == 1 and "wire command pump-rear is not in the second map" in differing.output
    assert run("diff", whole, unit).exit_code == 0


def test_a_vehicle_that_nobody_says_is_parked_is_not_probed(truck: TruckProcess, tmp_path: Path) -> None:
    before = len(truck.truth()["requests"])
    result = probe(truck, tmp_path / "map.json", typed="\n")
    assert result.exit_code == 1 and "nobody said that the vehicle is parked" in result.stderr
    asked = {one["payload"] for one in truck.truth()["requests"][before:]}
    assert asked <= {"010D", "0142"} and not list(tmp_path.glob("map.json*"))
    assert "Nothing was learned yet, and nothing is written: the same command begins anew." in result.stderr


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_at_its_question_ends_a_probe_at_once_and_keeps_nobody_to_its_options(
    truck: TruckProcess, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: signal.Signals
) -> None:
    def pressed(*_: object, **__: object) -> bool:
        try:
            signal.raise_signal(number)
        except KeyboardInterrupt:  # which click's own question turns into this
            raise click.Abort from None
        raise AssertionError("the stop was waited over")

    with monkeypatch.context() as at_the_question:
        at_the_question.setattr(click, "confirm", pressed)
        stopped = CliRunner().invoke(
            witnessmark,
            ["protocol", "probe", "--no-standard", "--address", "6B3:6BB", "--by", "t-otter",
             "--link", f"practice:{truck.folder}", "-o", str(tmp_path / "map.json")],
        )  # fmt: skip
    assert stopped.exit_code == 1 and "stopped as asked" in stopped.stderr, (stopped.stderr, stopped.exception)
    assert "goes on where it was" not in stopped.stderr and not list(tmp_path.glob("map.json*"))
    assert probe(truck, tmp_path / "map.json", "--identifiers", "7001-7002").exit_code == 0


def test_a_log_in_which_nothing_was_learned_does_not_refuse_other_options(tmp_path: Path) -> None:
    path = tmp_path / "map.json.probe.jsonl"
    log = ProbeLog.open(path, "one plan", "practice:yard")
    log.add(Logged(target="7DF", functional=True, request="010D", asked_ns="1", watch=True))
    log.close()
    other = ProbeLog.open(path, "another plan", "practice:yard")
    assert other.lines == [] and other.header.plan == "another plan"
    other.add(Logged(target="6B3", request="3E00", asked_ns="1"))
    other.close()
    third = ProbeLog.open(path, "a third plan", "practice:yard")
    assert third.lines == [], "silence is nothing to go on from"
    third.close()
    other = ProbeLog.open(path, "another plan", "practice:yard")
    said = LoggedAnswer(source="6BB", payload="7E00", first_ns="2", last_ns="2")
    other.add(Logged(target="6B3", request="3E00", asked_ns="1", answers=(said,)))
    other.close()
    with pytest.raises(InputError, match="asks for something else"):
        ProbeLog.open(path, "one plan", "practice:yard")


def test_a_closed_input_is_no_yes_and_leaves_nothing_behind(truck: TruckProcess, tmp_path: Path) -> None:
    words = ["protocol", "probe", "--no-standard", "--address", "6B3:6BB", "--by", "t-otter",
             "--link", f"practice:{truck.folder}", "-o", str(tmp_path / "map.json")]  # fmt: skip
    script = f"import sys; from witnessmark.cli.main import main; sys.argv[1:] = {words!r}; main()"
    done = subprocess.run([sys.executable, "-c", script], stdin=subprocess.DEVNULL, capture_output=True, text=True)
    assert done.returncode == 1 and "nobody said that the vehicle is parked" in done.stderr, done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_probe_that_went_through_asks_nothing_when_it_is_given_again_and_says_how_to_ask_afresh(
    tmp_path: Path,
) -> None:
    output = tmp_path / "map.json"
    with running(tmp_path / "yard") as truck:
        truck.workshop.do("wake")
        assert probe(truck, output).exit_code == 0
        first = output.read_bytes()
        truck.workshop.do("roll")
        before = len(truck.truth()["requests"])
        again = probe(truck, output, typed="")
        assert again.exit_code == 0 and output.read_bytes() == first
        assert "nothing was asked: this probe went through on" in again.stderr and "--afresh" in again.stderr
        assert "parked" not in again.stderr and len(truck.truth()["requests"]) == before
        rolling = probe(truck, output, "--afresh", "--map", DATA / "map.json", typed="")
        assert rolling.exit_code == 1 and "the vehicle moves" in rolling.stderr
        assert "nothing was asked" in probe(truck, output, typed="").stderr, "what was read before is not lost by it"
        truck.workshop.do("park")
        assert probe(truck, output, "--afresh").exit_code == 0 and len(truck.truth()["requests"]) > before + 20


def test_a_probe_does_not_go_on_at_another_vehicle_and_its_map_stays(truck: TruckProcess, tmp_path: Path) -> None:
    output, log = tmp_path / "map.json", tmp_path / "map.json.probe.jsonl"
    assert probe(truck, output).exit_code == 0
    lines = log.read_bytes().splitlines(keepends=True)
    begun = b"".join(lines[: len(lines) // 2])
    log.write_bytes(
        begun.replace(b"0DU14LT2XN0000014".hex().upper().encode(), b"0DU14LT2XN0000015".hex().upper().encode())
    )
    was = output.read_bytes()
    other = probe(truck, output)
    assert other.exit_code == 1 and "this is another vehicle" in other.stderr and "Nothing is written." in other.stderr
    assert "0DU14LT2XN0000014" in other.stderr and "0DU14LT2XN0000015" in other.stderr
    assert output.read_bytes() == was and "goes on where it was" not in other.stderr
    log.write_bytes(begun)
    assert probe(truck, output).exit_code == 0 and len(load_vehicle(output).units) == 1


def test_nodes_of_a_kline_are_not_asked_for_on_can(truck: TruckProcess, tmp_path: Path) -> None:
    before = len(truck.truth()["requests"])
    words = ("--address", "10-1F", "--by", "t-otter", "-o", tmp_path / "map.json")
    for level in ("frame", "message"):
        refused = run("probe", "--link", f"practice:{truck.folder}?level={level}", *words, typed="y\n")
        assert isinstance(refused.exception, InputError) and "10 is a node of a K-line" in refused.exception.what
        assert "6B3:6BB" in refused.exception.hint
    assert len(truck.truth()["requests"]) == before and not list(tmp_path.glob("map.json*"))


def test_a_probe_that_ends_early_says_what_to_do_and_on_the_practice_truck_how(tmp_path: Path) -> None:
    with running(tmp_path / "yard") as truck:
        truck.workshop.do("wake")
        truck.workshop.do("fault", "low-voltage")
        low = probe(truck, tmp_path / "map.json", "--map", DATA / "map.json")
        assert low.exit_code == 1 and "the supply is low" in low.stderr and "below 11.5 V" in low.stderr
        by_hand = f"`witnessmark practice hand {truck.folder} supply on`"
        assert f"do:  put a charger or a stabiliser on its supply, and leave it on; {by_hand}" in low.stderr
        truck.workshop.do("supply", "on")
        mended = probe(truck, tmp_path / "map.json", "--map", DATA / "map.json")
        assert mended.exit_code == 0, ("what the hint says mends it", mended.stderr)
        truck.workshop.do("roll")
        rolling = probe(truck, tmp_path / "map.json", "--afresh", "--map", DATA / "map.json")
        assert "the vehicle moves" in rolling.stderr and f"practice hand {truck.folder} park" in rolling.stderr


def test_where_nobody_answers_nothing_is_written_and_the_same_command_asks_anew(tmp_path: Path) -> None:
    output = tmp_path / "map.json"
    with running(tmp_path / "yard") as asleep:
        silent = probe(asleep, output)
        assert isinstance(silent.exception, LinkError) and "nobody answered at any address" in str(silent.exception)
        assert "ignition on" in silent.exception.hint and not list(tmp_path.glob("map.json*"))
        asleep.workshop.do("wake")
        assert probe(asleep, output).exit_code == 0 and len(load_vehicle(output).units) == 1


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("presses", [1, 2])
def test_a_probe_stopped_at_a_vehicle_that_fell_silent_writes_its_map_and_the_same_command_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: signal.Signals, presses: int
) -> None:
    output = tmp_path / "map.json"
    with running(tmp_path / "yard") as truck:
        truck.workshop.do("wake")

        def meddle(self: object, progress: Progress) -> None:
            if progress.doing == "6B3: 22 F1 9F":
                truck.workshop.do("fault", "silent")
            if progress.doing == "6B3: 19 01 FF":  # what comes next ended in silence with it, and has to wait
                for _ in range(presses):
                    signal.raise_signal(number)

        with monkeypatch.context() as meddling:
            meddling.setattr(_Line, "tell", meddle)
            stopped = probe(truck, output)
        assert stopped.exit_code == 1 and stopped.exception.__class__ is SystemExit
        assert "it ended early: stopped" in stopped.stderr and "The same command goes on" in stopped.stderr
        (unit,) = load_vehicle(output).units
        assert "F190" in {one.identifier for one in unit.identifiers} and not unit.codes
        truck.workshop.do("fault", "none")
        assert probe(truck, output).exit_code == 0
    assert "F190" in {one.identifier for one in load_vehicle(output).units[0].identifiers}


def test_a_probe_stopped_before_anybody_answered_leaves_nothing_that_is_in_the_way_of_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    output = tmp_path / "map.json"

    def meddle(self: object, progress: Progress) -> None:
        signal.raise_signal(signal.SIGINT)

    with running(tmp_path / "yard") as asleep:
        with monkeypatch.context() as meddling:
            meddling.setattr(_Line, "tell", meddle)
            stopped = probe(asleep, output, "--address", "6B4:6BC")
        assert stopped.exit_code == 1 and "the same command begins anew" in stopped.stderr
        assert not list(tmp_path.glob("map.json*"))
        asleep.workshop.do("wake")
        assert probe(asleep, output, "--address", "6B4:6BC").exit_code == 0 and len(load_vehicle(output).units) == 1


def test_the_commands_that_learn_a_vehicle_run_as_they_stand_on_its_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = (ROOT / "docs/learn-a-vehicle.md").read_text(encoding="utf-8")
    block = next(part for part in page.split("```") if "witnessmark protocol probe" in part)
    lines = [line.removeprefix("$ witnessmark ") for line in block.splitlines() if line.startswith("$ ")]
    assert [line.split()[1] for line in lines] == ["hand", "probe", "listen", "show", "join", "name", "add", "approve"]
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WITNESSMARK_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("WITNESSMARK_PERSON", "tech-7")
    recording = ROOT / "recordings_demo" / "eight-passes-clean" / "bus.log.gz"
    with running(tmp_path / "yard"):
        by_hand = [
            sys.executable,
            "-c",
            "from witnessmark.cli.main import main; main()",
            *lines[0].split("#")[0].split(),
        ]
        subprocess.run(by_hand, check=True, capture_output=True)
        for line in lines[1:]:
            words = shlex.split(line.replace("RECORDING", str(recording)), comments=True)
            typed = {"add": "4711\n4711\n", "approve": "4711\n"}.get(words[1], "y\n")
            done = CliRunner().invoke(witnessmark, words, input=typed)
            assert done.exit_code == 0, (line, done.output, done.exception)
    assert [one.id for one in load(Path("unit.json")).wire_commands] == ["purge-front"]
    assert {one.identifier for one in load(Path("unit.json")).identification} == {
        "F187", "F188", "F189", "F191", "F195"
    }, "the probe read more of them than the other tester"  # fmt: skip
    assert len(load_vehicle(Path("vehicle.json")).units) == 1
    with Shop(tmp_path / "shop").read() as journal:
        (approval,) = journal.entries(kind="approval")
    assert approval.body["wire_commands"] == ["purge-front"] and approval.body["identification"]
    assert approval.body["proven"] == "pin"


def test_the_commands_of_the_readme_that_open_a_practice_job_run_as_they_stand_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = next(part for part in readme.split("```") if "witnessmark job open" in part).replace("\\\n", " ")
    lines = [line.removeprefix("$ witnessmark ") for line in block.splitlines() if line.startswith("$ witnessmark")]
    assert [line.split()[:2] for line in lines] == [
        ["job", "open"], ["protocol", "approve"], ["job", "list"], ["job", "run"],
    ]  # fmt: skip
    monkeypatch.chdir(tmp_path)
    Path("plugins").symlink_to(ROOT / "plugins")
    monkeypatch.setenv("WITNESSMARK_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("WITNESSMARK_PERSON", "tech-7")
    with running(tmp_path / "yard"):
        for line in lines[:-1]:  # the last one is a screen
            done = CliRunner().invoke(witnessmark, shlex.split(line))
            assert done.exit_code == 0, (line, done.output, done.exception)
    with Shop(tmp_path / "shop").read() as journal:
        (approval,) = journal.entries(kind="approval")
    assert approval.done_by == "person:lead-1" and approval.body["proven"] == "name only"


def test_a_known_map_reads_whether_the_vehicle_is_parked(truck: TruckProcess, tmp_path: Path) -> None:
    result = probe(truck, tmp_path / "map.json", "--map", DATA / "map.json", typed="")
    assert result.exit_code == 0 and "parked" not in result.stderr, result.stderr


def test_the_extended_session_is_asked_for_only_after_its_caution(truck: TruckProcess, tmp_path: Path) -> None:
    refused = probe(truck, tmp_path / "no.json", "--extended", typed="n\n")
    assert refused.exit_code == 1 and "switch functions off" in refused.stderr
    assert "1003" not in {one["payload"] for one in truck.truth()["requests"]}
    assert probe(truck, tmp_path / "yes.json", "--extended", typed="y\ny\n").exit_code == 0
    assert "1003" in {one["payload"] for one in truck.truth()["requests"]}


def test_listening_live_sends_nothing_and_leaves_its_recording(truck: TruckProcess, tmp_path: Path) -> None:
    before = len(truck.truth()["requests"])
    output = tmp_path / "map.json"
    result = run("listen", "--link", f"practice:{truck.folder}", "--seconds", 2, "-o", output)
    assert result.exit_code == 0, (result.output, result.exception)
    assert len(truck.truth()["requests"]) == before
    recording = (tmp_path / "map.json.log").read_text(encoding="ascii")
    assert recording.count(" 1A4#") > 10  # the truck's own traffic
    assert load_vehicle(output).units == ()


def test_the_end_of_a_replay_is_told_and_what_was_heard_is_learned(tmp_path: Path) -> None:
    output = tmp_path / "map.json"
    link = f"replay:{CAPTURES / 'battery-polling.log'}?timing=fast"
    result = run("listen", "--link", link, "-o", output)
    assert result.exit_code == 0, (result.output, result.exception)
    assert "the link ended: the recording ends here" in result.stderr
    assert [one.address.answer for one in load_vehicle(output).units] == ["7BB"]


def test_a_map_that_is_there_is_written_over_only_by_force(tmp_path: Path) -> None:
    output = tmp_path / "map.json"
    output.write_text("by hand", encoding="utf-8")
    refused = run("listen", CAPTURES / "battery-polling.log", "-o", output)
    assert isinstance(refused.exception, InputError) and str(output) in str(refused.exception)
    assert output.read_text(encoding="utf-8") == "by hand"
    assert run("listen", CAPTURES / "battery-polling.log", "-o", output, "--force").exit_code == 0
    assert len(load_vehicle(output).units) == 1


def test_taking_and_probing_write_over_no_map_with_what_people_named(truck: TruckProcess, tmp_path: Path) -> None:
    named, whole = tmp_path / "unit.json", tmp_path / "truck.json"
    named.write_text((DATA / "map.json").read_text(encoding="utf-8"), encoding="utf-8")
    before = named.read_bytes()
    assert probe(truck, whole).exit_code == 0 and probe(truck, whole).exit_code == 0, "the same command goes on"
    for refused in (run("take", whole, "-o", named), probe(truck, named)):
        assert isinstance(refused.exception, InputError) and "named in it" in refused.exception.what
        assert named.read_bytes() == before
    whole.write_bytes(before)
    assert isinstance(probe(truck, whole).exception, InputError) and whole.read_bytes() == before
    assert probe(truck, whole, "--force").exit_code == 0 and not load_vehicle(whole).units[0].wire_commands
    assert run("take", whole, "-o", named, "--force").exit_code == 0


def test_a_damaged_recording_is_learned_from_and_the_exit_code_says_so(tmp_path: Path) -> None:
    path = tmp_path / "x.log"
    path.write_bytes((CAPTURES / "battery-polling.log").read_bytes() + b"(1.0) can0 79B#0\n")
    result = run("listen", path, "-o", tmp_path / "map.json")
    assert result.exit_code == 1 and "half a byte" in result.stderr


def test_messages_that_were_not_heard_whole_are_told_with_how_many_when_and_what_it_means(tmp_path: Path) -> None:
    capture = CAPTURES / "battery-polling.log"
    assert "not heard whole" not in run("listen", capture, "-o", tmp_path / "whole.json").stderr
    lines = capture.read_text(encoding="ascii").splitlines(keepends=True)
    first = next(at for at, line in enumerate(lines) if "#10" in line)
    name = lines[first].split()[2].partition("#")[0]
    path = tmp_path / "hole.log"
    gone = next(at for at in range(first + 1, len(lines)) if f" {name}#2" in lines[at])
    path.write_text("".join(line for at, line in enumerate(lines) if at != gone), encoding="ascii")
    result = run("listen", path, "-o", tmp_path / "map.json")
    assert result.exit_code == 0
    said = f"1 message not heard whole: frames are missing or out of order, on {name} (1)"
    assert said in result.stderr and "may be incomplete" in result.stderr
    at_s = lines[first][1:].partition(")")[0]
    assert f"on {name}\n" in result.stderr and at_s.partition(".")[2] in result.stderr, "the moment, as decode tells it"


def learned_capture(folder: Path) -> VehicleMap:
    path = folder / "capture.json"
    run("listen", CAPTURES / "fault-scan.log", "-o", path)
    return load_vehicle(path)


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A recording of another tester who runs the rear pump twice, and the purge once with a key before it."""
    folder = tmp_path_factory.mktemp("heard")
    bay = RecordedTruck()
    bay.run(WIRE_COMMANDS[1], 5)
    bay.run(WIRE_COMMANDS[1], 8)
    bay.truck.unit.dead = True
    bay.ask("2701")
    bay.truck.unit.dead = False
    bay.run(WIRE_COMMANDS[2], 5)
    return bay.write(folder / "bay.log")


def test_what_another_tester_ran_is_found_named_and_approved(heard: Path, tmp_path: Path) -> None:
    whole, unit = tmp_path / "map.json", tmp_path / "unit.json"
    result = run("listen", heard, "-o", whole)
    assert result.exit_code == 0 and "31-7320" in result.output and "2 candidate wire commands" in result.output
    named = run("name", whole, "31-7320", "pump-rear", "--words", "runs the rear pump", "-o", unit)
    assert named.exit_code == 0, named.exception
    command = load(unit).wire_commands[0]
    assert (command.origin, command.start, command.stop) == ("learned", "31017320", "31027320")
    approve = ("approve", unit, "--by", "l-heron", "--shop", tmp_path / "shop")
    # Nothing was heard that identifies the unit, so the approval could bind to nothing.
    refused = run(*approve)
    assert isinstance(refused.exception, InputError) and "identifies no control unit" in refused.exception.what
    probed, truck = tmp_path / "probed.json", tmp_path / "truck.json"
    unnamed = msgspec.structs.replace(load(DATA / "map.json"), conditions=(), wire_commands=())
    probed.write_text(to_text(unnamed), encoding="utf-8")
    alone = run("join", probed, whole, "-o", truck)
    assert isinstance(alone.exception, InputError) and "nothing that both know" in alone.exception.what
    joined = run("join", probed, whole, "-o", truck, "--one-vehicle")
    assert "6B3 > 6BB: joined by its address, on your word" in joined.output
    again = ("name", truck, "31-7320", "pump-rear", "--words", "runs the rear pump", "-o", unit)
    refused = run(*again)
    assert isinstance(refused.exception, InputError) and "identify themselves differently" in refused.exception.what
    assert run(*again, "--force").exit_code == 0
    add = ["person", "add", "l-heron", "--role", "lead", "--shop", str(tmp_path / "shop")]
    assert CliRunner().invoke(witnessmark, add, input="4711\n4711\n").exit_code == 0
    approved = run(*approve, typed="4711\n")
    assert approved.exit_code == 0, (approved.output, approved.exception)
    assert "pump-rear: approved in entry" in run("show", unit, "--shop", tmp_path / "shop").output


def test_candidates_are_named_one_after_the_other_into_one_file_and_nothing_else_is_written_over(
    heard: Path, tmp_path: Path
) -> None:
    whole, unit, other = tmp_path / "map.json", tmp_path / "unit.json", tmp_path / "other.json"
    run("listen", heard, "-o", whole)
    of = load_vehicle(whole).units[0]
    rear = next(one for one in of.candidates if one.id == "31-7320")
    front = msgspec.structs.replace(rear, id="31-7310", start="31017310", stop="31027310", results="")
    of = msgspec.structs.replace(of, candidates=(*of.candidates, front))
    whole.write_text(to_text(of), encoding="utf-8")
    assert run("name", whole, "31-7320", "rear", "--words", "runs the rear pump", "-o", unit).exit_code == 0
    added = run("name", whole, "31-7310", "front", "--words", "runs the front pump", "-o", unit)
    assert "which has now: rear, front" in added.output and "needs its approval again" in added.output
    assert [one.id for one in load(unit).wire_commands] == ["rear", "front"]
    assert [one.id for one in load(unit).candidates] == ["31-7340"]
    elsewhere = msgspec.structs.replace(of, address=msgspec.structs.replace(of.address, request="6B4"))
    for text in (to_text(elsewhere), to_text(learned_capture(tmp_path)), "by hand"):
        other.write_text(text, encoding="utf-8")
        words = ("name", whole, "31-7310", "front", "--words", "runs the front pump", "-o", other)
        refused = run(*words)
        assert isinstance(refused.exception, InputError) and "--force" in refused.exception.hint
        assert other.read_text(encoding="utf-8") == text
    assert run(*words, "--force").exit_code == 0 and [one.id for one in load(other).wire_commands] == ["front"]


def test_diff_tells_what_differs_from_what_one_does_not_say_and_counts_the_rest(heard: Path, tmp_path: Path) -> None:
    whole, other = tmp_path / "map.json", tmp_path / "other.json"
    run("listen", heard, "-o", whole)
    (unit,) = load_vehicle(whole).units
    other.write_text(to_text(msgspec.structs.replace(unit, candidates=(), title="again")), encoding="utf-8")
    apart = run("diff", whole, other)
    assert apart.exit_code == 0 and "nothing differs in what both know" in apart.output
    assert "6BB: only the first map knows candidate wire commands 31-7320, 31-7340" in apart.output
    assert "--all tells where" in apart.output and "again" not in apart.output
    assert "6BB: the map: its title is again" in run("diff", whole, other, "--all").output
    faster = msgspec.structs.replace(unit, timing=msgspec.structs.replace(unit.timing, p2_ms=25))
    other.write_text(to_text(faster), encoding="utf-8")
    differs = run("diff", whole, other)
    assert differs.exit_code == 1 and "6BB: it states P2 25 ms; it was 200 ms" in differs.output
    assert "approval" not in differs.output, "there is nothing to approve in it"
    assert "none of the first holds for the second" in run("diff", DATA / "map.json", other).output


def test_what_needed_a_key_can_be_named_and_never_be_approved(heard: Path, tmp_path: Path) -> None:
    whole, unit = tmp_path / "map.json", tmp_path / "unit.json"
    run("listen", heard, "-o", whole)
    assert "SecurityAccess (27) before" in run("show", whole, "--shop", tmp_path / "shop").output
    vehicle = load_vehicle(whole)
    (of,) = vehicle.units
    of = msgspec.structs.replace(
        of,
        identification=load(DATA / "map.json").identification,
        candidates=tuple(
            msgspec.structs.replace(one, start="31017340{seconds}",
                                    observed=msgspec.structs.replace(one.observed, seconds=(5,), varied=()))
            if one.id == "31-7340" else one for one in of.candidates
        ),
    )  # fmt: skip
    whole.write_text(to_text(of), encoding="utf-8")
    named = run("name", whole, "31-7340", "purge", "--words", "purges", "--cool-down", 20, "-o", unit)
    assert named.exit_code == 0 and "never sent: the other tester used SecurityAccess" in named.output
    result = run("approve", unit, "--by", "l-heron", "--shop", tmp_path / "shop")
    assert isinstance(result.exception, LocalError) and "is never sent" in result.exception.what
    assert not Shop(tmp_path / "shop").journal_path.exists()


def test_the_recording_is_named_by_its_digest_in_every_fact(tmp_path: Path) -> None:
    from hashlib import sha256

    run("listen", CAPTURES / "battery-polling.log", "-o", tmp_path / "map.json")
    (unit,) = load_vehicle(tmp_path / "map.json").units
    digest = sha256((CAPTURES / "battery-polling.log").read_bytes()).hexdigest()
    facts = [*unit.services, *unit.identifiers]
    assert facts and {one.evidence.digest for one in facts} == {digest}
    assert {one.evidence.how for one in facts} == {"heard"}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "nothing to listen to"),
        (("a.log", "--link", "b:"), "leave one out"),
        (("a.log", "--seconds", "3"), "read to its end"),
    ],
)
def test_listening_needs_one_source_and_says_which_is_too_many(words: tuple[str, ...], says: str) -> None:
    refused = run("listen", *words, "-o", "x.json")
    assert refused.exit_code == 2 and says in refused.stderr


def test_taking_from_a_map_of_many_needs_the_units_address(tmp_path: Path) -> None:
    run("listen", CAPTURES / "fault-scan.log", "-o", tmp_path / "map.json")
    result = run("take", tmp_path / "map.json", "-o", tmp_path / "unit.json")
    assert isinstance(result.exception, InputError) and "7EA" in result.exception.hint
    assert run("take", tmp_path / "map.json", "--unit", "7ea", "-o", tmp_path / "unit.json").exit_code == 0
    with pytest.raises(InputError, match="whole vehicle"):
        load(tmp_path / "map.json")
