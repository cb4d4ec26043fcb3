"""`witnessmark protocol approve` and `withdraw`, as a lead uses them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tests.job.learned import learned_map
from tests.mapping.maps import TEXT, edited
from tests.plugins.practice.truck_process import TruckProcess, running

import witnessmark_practice
from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError, LocalError
from witnessmark.host.roster import PEOPLE
from witnessmark.host.shop import Shop
from witnessmark.job.allowed.approval import find
from witnessmark.journal.bodies import Intent, Outcome, to_body
from witnessmark.journal.entry import Draft, Entry
from witnessmark.mapping.load import digest, from_text, load
from witnessmark.people.register import TRIES, read
from witnessmark.procedure import load as procedures

DATA = Path(witnessmark_practice.__file__).parent / "data"
MAP, PROCEDURE = DATA / "map.json", DATA / "procedure.toml"


def run(shop: Path, *words: object, pin: str = "") -> Result:
    return CliRunner().invoke(
        witnessmark, ["protocol", *map(str, words), "--by", "l-heron", "--shop", str(shop)], input=f"{pin}\n"
    )


def approvals(shop: Path) -> list[Entry]:
    with Shop(shop).read() as journal:
        return list(journal.entries(kind="approval"))


@pytest.fixture
def with_pins(tmp_path: Path) -> Path:
    people = read(tmp_path / PEOPLE, 2**4)
    people.add("l-heron", "lead", "4711").add("t-otter", "technician", "0815").write()
    return tmp_path


def test_a_map_is_approved_whole_in_a_shop_without_pins_and_the_entry_says_so(tmp_path: Path) -> None:
    result = run(tmp_path, "approve", MAP, "--why", "read the maker's page")
    assert result.exit_code == 0 and "taken at its word" in result.stderr
    (entry,) = approvals(tmp_path)
    assert entry.job is None and entry.done_by == "person:l-heron" and entry.body["proven"] == "name only"
    assert entry.body["why"] == "read the maker's page"
    for command in load(MAP).wire_commands:
        assert find([entry], digest(load(MAP)), command.id) is not None


def test_a_procedure_narrows_the_approval_to_what_its_passes_need(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    text = PROCEDURE.read_text(encoding="utf-8")
    for other in ("valve-rear-left", "pump-front", "purge-unit"):
        text = text.replace(f'wire_command = "{other}"', 'wire_command = "pump-rear"')
    text = text.replace('["pump-rear", "pump-front", "purge-unit"]', '["pump-rear"]')
    path.write_text(text, encoding="utf-8")
    assert run(tmp_path, "approve", MAP, "--procedure", path).exit_code == 0
    (entry,) = approvals(tmp_path)
    assert entry.body["wire_commands"] == ["pump-rear"] and len(entry.body["procedure_digest"]) == 64


def test_a_procedure_that_asks_for_longer_runs_than_may_be_sent_is_not_approved(tmp_path: Path) -> None:
    path = tmp_path / "longer.toml"
    text = PROCEDURE.read_text(encoding="utf-8").replace('longest_run = "20 s"', 'longest_run = "30 s"')
    path.write_text(text.replace('seconds = "12 s"', 'seconds = "21 s"'), encoding="utf-8")
    refused = run(tmp_path, "approve", MAP, "--procedure", path)
    assert isinstance(refused.exception, InputError)
    for name in ("p2", "p5"):
        assert f"pass {name} (pump-rear): 21 s are asked for, at most 20 s are allowed" in refused.exception.what
    assert "write other seconds into the procedure" in refused.exception.hint
    assert not Shop(tmp_path).journal_path.exists()
    others = run(tmp_path, "approve", MAP, "--procedure", path, "--command", "purge-unit")
    assert others.exit_code == 0, others.exception


def test_a_map_that_tells_no_software_says_that_an_update_would_not_end_its_approval(tmp_path: Path) -> None:
    path = tmp_path / "hardware.json"
    path.write_text(edited('"identifier": "F189"', '"identifier": "F191"'), encoding="utf-8")
    said = "an update would not end this approval"
    assert said in run(tmp_path, "approve", path).output and said not in run(tmp_path, "approve", MAP).output


def test_a_map_shows_what_is_approved_of_it_and_whether_for_one_procedure_alone(tmp_path: Path) -> None:
    run(tmp_path, "approve", MAP, "--procedure", PROCEDURE, "--command", "pump-rear")
    run(tmp_path, "approve", MAP, "--command", "pump-front")
    shown = CliRunner().invoke(witnessmark, ["protocol", "show", str(MAP), "--shop", str(tmp_path)]).output
    assert "pump-rear: approved in entry 1 for one procedure alone\n" in shown
    assert "pump-front: approved in entry 2\n" in shown and "purge-unit: not approved in this shop\n" in shown


def test_withdrawing_ends_the_approval_and_a_later_one_holds_again(tmp_path: Path) -> None:
    run(tmp_path, "approve", MAP)
    assert run(tmp_path, "withdraw", MAP, "--why", "the pump was loud").exit_code == 0
    assert approvals(tmp_path)[-1].body["why"] == "the pump was loud"
    assert find(approvals(tmp_path), digest(load(MAP)), "pump-rear") is None
    run(tmp_path, "approve", MAP)
    assert find(approvals(tmp_path), digest(load(MAP)), "pump-rear") is not None


def test_a_changed_map_is_not_approved(tmp_path: Path) -> None:
    path = tmp_path / "map.json"
    path.write_text(TEXT, encoding="utf-8")
    run(tmp_path, "approve", path)
    changed = from_text(edited('"longest_s": 20', '"longest_s": 60'))
    assert find(approvals(tmp_path), digest(from_text(TEXT)), "pump") is not None
    assert find(approvals(tmp_path), digest(changed), "pump") is None


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"cool_down_s": 15', '"cool_down_s": 5', "this map has 5 s of rest after a run, and another map"),
        ('"longest_s": 20', '"longest_s": 60', "this map has 60 s for a run, and another map"),
    ],
)
def test_a_map_that_is_less_strict_than_another_in_force_for_its_unit_is_refused_until_that_is_withdrawn(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    strict, loose = tmp_path / "strict.json", tmp_path / "loose.json"
    strict.write_text(TEXT, encoding="utf-8")
    loose.write_text(edited(old, new).replace('"id": "pump"', '"id": "pump-again"', 1), encoding="utf-8")
    assert run(tmp_path, "approve", strict).exit_code == 0
    refused = run(tmp_path, "approve", loose)
    assert isinstance(refused.exception, LocalError) and says in refused.exception.what
    assert f"approved in entry 1, has {old.split()[1]} s" in refused.exception.what and len(approvals(tmp_path)) == 1
    assert run(tmp_path, "withdraw", loose).exit_code == 0, "what its hint says"
    assert run(tmp_path, "approve", loose).exit_code == 0
    again = run(tmp_path, "approve", strict)
    assert again.exit_code == 0 and "STILL APPROVED in entry 3, with another map of the same control" in again.output


def test_of_another_control_unit_each_map_has_its_own_figures(tmp_path: Path) -> None:
    strict, loose = tmp_path / "strict.json", tmp_path / "loose.json"
    strict.write_text(TEXT, encoding="utf-8")
    loose.write_text(edited('"cool_down_s": 15', '"cool_down_s": 5').replace("7A8", "7BB"), encoding="utf-8")
    assert run(tmp_path, "approve", strict).exit_code == 0
    other = run(tmp_path, "approve", loose)
    assert other.exit_code == 0 and "STILL APPROVED" not in other.output


def test_a_wire_command_the_map_does_not_have_is_named(tmp_path: Path) -> None:
    result = run(tmp_path, "approve", MAP, "--command", "valve-rear-right")
    assert isinstance(result.exception, InputError) and "valve-rear-right" in str(result.exception)


def test_with_pins_the_lead_gives_the_pin_and_the_entry_says_so(with_pins: Path) -> None:
    result = run(with_pins, "approve", MAP, pin="4711")
    assert result.exit_code == 0 and "4711" not in result.output
    (entry,) = approvals(with_pins)
    assert entry.body["proven"] == "pin"


@pytest.mark.parametrize(("by", "pin"), [("t-otter", "0815"), ("l-heron", "0815"), ("l-stork", "4711")])
def test_nobody_else_approves(with_pins: Path, by: str, pin: str) -> None:
    words = ["protocol", "approve", str(MAP), "--by", by, "--shop", str(with_pins)]
    result = CliRunner().invoke(witnessmark, words, input=f"{pin}\n")
    assert isinstance(result.exception, LocalError)
    assert not Shop(with_pins).journal_path.exists()


@pytest.fixture
def real(tmp_path: Path) -> Path:
    """A map that says of itself that it is no practice data."""
    path = tmp_path / "real.json"
    path.write_text(edited('"invented": true', '"invented": false'), encoding="utf-8")
    return path


def test_a_map_of_a_real_vehicle_is_approved_only_with_a_pin(tmp_path: Path, real: Path) -> None:
    refused = run(tmp_path, "approve", real)
    assert isinstance(refused.exception, LocalError) and "l-heron has no PIN here" in str(refused.exception)
    assert "`witnessmark person add l-heron --role lead`" in refused.exception.hint
    assert not Shop(tmp_path).journal_path.exists()
    words = ["person", "add", "l-heron", "--role", "lead", "--shop", str(tmp_path)]
    assert CliRunner().invoke(witnessmark, words, input="4711\n4711\n").exit_code == 0
    assert run(tmp_path, "approve", real, pin="4711").exit_code == 0
    assert approvals(tmp_path)[-1].body["proven"] == "pin"


def withdraw(shop: Path, *words: object, by: str = "t-otter") -> Result:
    return CliRunner().invoke(
        witnessmark, ["protocol", "withdraw", *map(str, words), "--by", by, "--shop", str(shop)], input=""
    )


def test_anybody_withdraws_at_once_while_the_leads_entry_is_closed_and_only_the_lead_approves_again(
    with_pins: Path,
) -> None:
    assert run(with_pins, "approve", MAP, pin="4711").exit_code == 0
    for _ in range(TRIES):
        assert isinstance(run(with_pins, "approve", MAP, pin="9999").exception, LocalError)
    assert "too many wrong PINs" in str(run(with_pins, "approve", MAP, pin="4711").exception)
    done = withdraw(with_pins, MAP)
    assert done.exit_code == 0 and "withdrawn by t-otter" in done.output and "PIN" not in done.output
    last = approvals(with_pins)[-1]
    assert (last.done_by, last.body["withdrawn"], last.body["proven"]) == ("person:t-otter", True, "name only")
    assert find(approvals(with_pins), digest(load(MAP)), "pump-rear") is None
    again = CliRunner().invoke(
        witnessmark, ["protocol", "approve", str(MAP), "--by", "t-otter", "--shop", str(with_pins)], input="0815\n"
    )
    assert isinstance(again.exception, LocalError) and "only a shop lead" in str(again.exception)


def test_withdrawing_needs_no_people_file_that_is_as_it_should_be(with_pins: Path) -> None:
    assert run(with_pins, "approve", MAP, pin="4711").exit_code == 0
    (with_pins / PEOPLE).write_text("{", encoding="utf-8")
    assert withdraw(with_pins, MAP, by="l-heron").exit_code == 0
    assert find(approvals(with_pins), digest(load(MAP)), "pump-rear") is None


def test_withdrawing_ends_what_was_approved_of_the_control_unit_with_any_map_of_it(tmp_path: Path) -> None:
    first, second, other = (tmp_path / name for name in ("first.json", "second.json", "other.json"))
    first.write_text(TEXT, encoding="utf-8")
    second.write_text(edited('"longest_s": 20', '"longest_s": 10'), encoding="utf-8")
    other.write_text(edited('"answer": "7A8"', '"answer": "7B8"'), encoding="utf-8")
    for path in (first, second, other):
        assert run(tmp_path, "approve", path).exit_code == 0
    done = withdraw(tmp_path, second)
    assert done.exit_code == 0 and "in entry 4, 5: nothing of" in done.output and "whatever the map" in done.output
    assert "ended: entry 1 (pump); entry 2 (pump)\n" in done.output and "STILL" not in done.output
    held = [find(approvals(tmp_path), digest(load(path)), "pump") is not None for path in (first, second, other)]
    assert held == [False, False, True]


def test_an_update_of_its_software_makes_no_other_control_unit_of_it(tmp_path: Path) -> None:
    before, after = tmp_path / "before.json", tmp_path / "after.json"
    before.write_text(TEXT, encoding="utf-8")
    after.write_text(edited('"value": "0102"', '"value": "0103"'), encoding="utf-8")
    run(tmp_path, "approve", before)
    assert withdraw(tmp_path, after).exit_code == 0
    assert find(approvals(tmp_path), digest(load(before)), "pump") is None


def test_one_map_alone_is_withdrawn_where_wanted_and_those_that_stand_are_named(tmp_path: Path) -> None:
    first, second, third = (tmp_path / name for name in ("first.json", "second.json", "third.json"))
    first.write_text(TEXT, encoding="utf-8")
    second.write_text(edited('"longest_s": 20', '"longest_s": 10'), encoding="utf-8")
    third.write_text(edited('"longest_s": 20', '"longest_s": 5'), encoding="utf-8")
    run(tmp_path, "approve", first)
    run(tmp_path, "approve", second)
    refused = withdraw(tmp_path, third, "--this-map")
    assert isinstance(refused.exception, LocalError)
    assert "of its control unit do: entry 1 (pump); entry 2 (pump)" in refused.exception.what
    assert len(approvals(tmp_path)) == 2
    done = withdraw(tmp_path, second, "--this-map")
    assert "nothing of this map of" in done.output and "ended: entry 2 (pump)\n" in done.output
    assert "STILL APPROVED for the same control unit with another map: entry 1 (pump)\n" in done.output
    assert find(approvals(tmp_path), digest(load(first)), "pump") is not None
    assert withdraw(tmp_path, first, "--this-map", "--all").exit_code == 2


def test_a_map_that_was_changed_since_ends_it_too_and_one_of_another_unit_says_so(tmp_path: Path) -> None:
    path = tmp_path / "map.json"
    path.write_text(edited('"answer": "7A8"', '"answer": "7B8"'), encoding="utf-8")
    run(tmp_path, "approve", path)
    refused = withdraw(tmp_path, MAP)
    assert isinstance(refused.exception, LocalError) and "of others do: entry 1 (pump)" in str(refused.exception)
    assert "--all" in refused.exception.hint and len(approvals(tmp_path)) == 1
    assert withdraw(tmp_path).exit_code == withdraw(tmp_path, path, "--all").exit_code == 2
    assert "in entry 2" in withdraw(tmp_path, "--all").output
    assert find(approvals(tmp_path), digest(load(path)), "pump") is None
    assert "nothing to withdraw" in withdraw(tmp_path, "--all").output and len(approvals(tmp_path)) == 2
    assert "nothing to withdraw" in withdraw(tmp_path, path).output
    assert "nothing to withdraw" in withdraw(tmp_path / "new", "--all").output


def test_who_withdraws_reads_that_a_run_is_on_and_how_it_is_stopped(tmp_path: Path) -> None:
    run(tmp_path, "approve", MAP)
    body = Intent(pass_id="p1", nipples=(), wire_command="pump-rear", seconds="9", start="31", stop="31", peer={})
    with Shop(tmp_path).write() as journal:
        entry = journal.append(Draft("intent", "j-9", "machine:test", body=to_body(body)))
    said = withdraw(tmp_path, MAP).output
    assert "A RUN MAY BE ON NOW: pump-rear in job j-9; it ends by itself" in said and "press a key on that job" in said
    run(tmp_path, "approve", MAP)
    ended = Outcome(actuation=entry.seq, pass_id="p1", result="completed", stop="confirmed")
    with Shop(tmp_path).write() as journal:
        journal.append(Draft("outcome", "j-9", "machine:test", body=to_body(ended)))
    assert "RUN" not in withdraw(tmp_path, MAP).output


def test_what_is_approved_is_said_in_words_and_values_as_text_beside_their_hex(tmp_path: Path) -> None:
    said = run(tmp_path, "approve", MAP, "--procedure", PROCEDURE).output
    map_ = load(MAP)
    assert f"for {map_.title} (" in said and "invented for practice" in said
    one = map_.wire_commands[0]
    assert f"{one.id}: {one.words}; at most {one.longest_s} s a run, then {one.cool_down_s} s of rest" in said
    assert "03.20.7 (30332E32302E37)" in said and "ECUSoftwareVersionNumber" in said
    first = next(one for one in procedures.load(PROCEDURE).passes if one.wire_command)
    name = next(one.name for one in procedures.load(PROCEDURE).nipples if one.id == first.nipples[0])
    assert f"pass {first.id} ({name}" in said and f", {first.seconds})" in said


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as truck:
        truck.workshop.do("wake")
        yield truck


def test_with_a_link_the_control_unit_is_read_before_it_is_approved(tmp_path: Path, truck: TruckProcess) -> None:
    result = run(tmp_path, "approve", MAP, "--link", f"practice:{truck.folder}")
    assert result.exit_code == 0, result.exception
    assert "identifies itself as the map says" in result.output and len(approvals(tmp_path)) == 1


def test_practice_data_is_not_approved_by_name_only_at_a_real_link(tmp_path: Path, truck: TruckProcess) -> None:
    before = len(truck.truth()["requests"])
    link = f"prompt:{truck.folder / 'port'}?profile={DATA / 'profile.toml'}"
    refused = run(tmp_path, "approve", MAP, "--link", link)
    assert isinstance(refused.exception, LocalError) and "is no practice vehicle" in refused.exception.what
    assert "person add l-heron --role lead" in refused.exception.hint
    assert not Shop(tmp_path).journal_path.exists() and len(truck.truth()["requests"]) == before


def test_with_a_link_another_control_unit_is_refused(tmp_path: Path, truck: TruckProcess) -> None:
    path = tmp_path / "other.json"
    path.write_text(MAP.read_text(encoding="utf-8").replace("30332E32302E37", "30332E32302E38"), encoding="utf-8")
    result = run(tmp_path, "approve", path, "--link", f"practice:{truck.folder}")
    assert isinstance(result.exception, LocalError) and "other software" in result.exception.what
    assert not Shop(tmp_path).journal_path.exists()


def test_after_an_update_a_lead_approves_the_same_map_for_the_number_that_the_unit_says_now(
    tmp_path: Path, truck: TruckProcess
) -> None:
    truck.workshop.do("software", "03.21.0")
    try:
        link = f"practice:{truck.folder}"
        refused = run(tmp_path, "approve", MAP, "--link", link)
        assert isinstance(refused.exception, LocalError) and "F195 is 03.21.0" in refused.exception.what
        result = run(tmp_path, "approve", MAP, "--software", "F195=03.21.0", "--link", link)
        assert result.exit_code == 0 and "not 03.20.7 (30332E32302E37) as the map says" in result.output
    finally:
        truck.workshop.do("software", "")
    (entry,) = approvals(tmp_path)
    bound = {one.identifier: one.value for one in load(MAP).identification}
    assert entry.body["identification"] == bound | {"F195": b"03.21.0".hex().upper()}
    assert entry.body["map_digest"] == digest(load(MAP))
    shown = CliRunner().invoke(witnessmark, ["protocol", "show", str(MAP), "--shop", str(tmp_path)]).output
    assert "pump-rear: approved in entry 1 for F195 03.21.0 (30332E32312E30) alone\n" in shown


@pytest.mark.parametrize("said", ["F187=OTHER", "F189=03.21", "F195", "F195=", "F195=0x3", "F195=\u00b5", "03.21.0"])
def test_only_a_software_number_that_the_map_binds_to_may_be_another(tmp_path: Path, said: str) -> None:
    refused = run(tmp_path, "approve", MAP, "--software", said)
    assert isinstance(refused.exception, InputError) and "F195=03.20.7" in refused.exception.hint
    assert not Shop(tmp_path).journal_path.exists()


def test_what_was_learned_is_approved_for_no_other_software_than_it_was_learned_on(with_pins: Path) -> None:
    path = with_pins / "map.json"
    path.write_text(json.dumps(learned_map()), encoding="utf-8")
    assert run(with_pins, "approve", path, pin="4711").exit_code == 0
    refused = run(with_pins, "approve", path, "--command", "pump", "--software", "F189=0x0103", pin="4711")
    assert isinstance(refused.exception, LocalError) and "pump was learned on other software" in refused.exception.what
    valve = run(with_pins, "approve", path, "--command", "valve", "--software", "F189=0x0103", pin="4711")
    assert valve.exit_code == 0 and approvals(with_pins)[-1].body["identification"] == {"F189": "0103"}
    assert "from now on valve of this map is approved for no other; what else was approved" in valve.output


def test_what_an_approval_for_other_software_ends_is_said_as_it_is(tmp_path: Path) -> None:
    other = "--software", "F195=03.21.0"
    whole = run(tmp_path, "approve", MAP, *other).output
    assert "from now on this map is approved for no other\n" in whole
    narrow = run(tmp_path, "approve", MAP, "--procedure", PROCEDURE, *other).output
    assert "approved for no other in jobs of this procedure; what else was approved of it stays" in narrow
    assert "for no other" not in run(tmp_path, "approve", MAP).output
