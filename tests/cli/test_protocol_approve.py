"""`witnessmark protocol approve` and `withdraw`, as a lead uses them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tests.mapping.maps import TEXT, edited
from tests.plugins.practice.truck_process import TruckProcess, running

import witnessmark_practice
from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError, LocalError
from witnessmark.host.roster import PEOPLE
from witnessmark.host.shop import Shop
from witnessmark.job.approval import find
from witnessmark.journal.entry import Entry
from witnessmark.mapping.load import digest, from_text, load
from witnessmark.people.register import read

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
    path.write_text(text, encoding="utf-8")
    assert run(tmp_path, "approve", MAP, "--procedure", path).exit_code == 0
    (entry,) = approvals(tmp_path)
    assert entry.body["wire_commands"] == ["pump-rear"] and len(entry.body["procedure_digest"]) == 64


def test_withdrawing_ends_the_approval_and_a_later_one_holds_again(tmp_path: Path) -> None:
    run(tmp_path, "approve", MAP)
    assert run(tmp_path, "withdraw", MAP, "--why", "the pump was loud").exit_code == 0
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


def test_a_wire_command_the_map_does_not_have_is_named(tmp_path: Path) -> None:
    result = run(tmp_path, "approve", MAP, "--command", "valve-rear-right")
    assert isinstance(result.exception, InputError) and "valve-rear-right" in str(result.exception)


def test_with_pins_the_lead_gives_the_pin_and_the_entry_says_so(with_pins: Path) -> None:
    result = run(with_pins, "approve", MAP, pin="4711")
    assert result.exit_code == 0 and "4711" not in result.output
    (entry,) = approvals(with_pins)
    assert entry.body["proven"] == "pin"


@pytest.mark.parametrize(("by", "pin"), [("t-otter", "0815"), ("l-heron", "0815"), ("l-stork", "4711")])
@pytest.mark.parametrize("words", [("approve", str(MAP)), ("withdraw", str(MAP), "--why", "x")])
def test_nobody_else_approves_or_withdraws(with_pins: Path, by: str, pin: str, words: tuple[str, ...]) -> None:
    result = CliRunner().invoke(
        witnessmark, ["protocol", *words, "--by", by, "--shop", str(with_pins)], input=f"{pin}\n"
    )
    assert isinstance(result.exception, LocalError)
    assert not Shop(with_pins).journal_path.exists()


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as truck:
        truck.workshop.do("wake")
        yield truck


def test_with_a_link_the_control_unit_is_read_before_it_is_approved(tmp_path: Path, truck: TruckProcess) -> None:
    result = run(tmp_path, "approve", MAP, "--link", f"practice:{truck.folder}")
    assert result.exit_code == 0, result.exception
    assert "identifies itself as the map says" in result.output and len(approvals(tmp_path)) == 1


def test_with_a_link_another_control_unit_is_refused(tmp_path: Path, truck: TruckProcess) -> None:
    path = tmp_path / "other.json"
    path.write_text(MAP.read_text(encoding="utf-8").replace("30332E32302E37", "30332E32302E38"), encoding="utf-8")
    result = run(tmp_path, "approve", path, "--link", f"practice:{truck.folder}")
    assert isinstance(result.exception, LocalError) and "other software" in result.exception.what
    assert not Shop(tmp_path).journal_path.exists()
