"""`witnessmark copy`, `restore` and `check`, on a sound journal and on damaged ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.journal import head as heads
from witnessmark.journal import lock
from witnessmark.journal.checkpoint import PublicKey
from witnessmark.journal.entry import Draft


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job("--plate", "AB-12 X")


def test_a_copy_is_verified_and_brought_up_to_date(bay: Bay, job: str, tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    assert "2 entries, consistent" in bay.fine("copy", disk)
    bay.open_job()
    assert "3 entries, consistent" in bay.fine("copy", disk)
    other = Bay(tmp_path / "bay2")
    other.open_job()
    for words, said in (
        (("copy", disk), "newer; keep it"),
        (("copy", other.folder / "journal.db"), "the journal itself"),
        (("copy", tmp_path / "none" / "x.db"), "make it first"),
    ):
        result = other.run(*words)
        assert result.exit_code in (2, 3) and said in f"{result.exception} {result.exception.hint}"  # type: ignore[union-attr]


def test_a_lost_journal_is_restored_from_its_copy(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("copy", tmp_path)
    for path in bay.folder.glob("journal.db*"):
        path.unlink()
    assert "restored with 2 entries" in bay.fine("restore", tmp_path)
    assert "AB-12 X" in bay.fine("job", "show", job)
    assert [one.body for one in bay.entries(kind="note")] == [
        {"restored_from": 2, "was": None},
        {"lost": {"from": 2}},
    ]


def test_a_longer_history_is_not_overwritten(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("copy", tmp_path)
    bay.open_job()
    refused = bay.run("restore", tmp_path)
    assert refused.exit_code == 3 and "3 entries, the copy 2" in str(refused.exception)
    assert len(bay.entries()) == 3
    bay.fine("restore", tmp_path, "--accept-shorter")
    assert [one.kind for one in bay.entries()] == ["genesis", "job-opened", "note"]
    assert list(bay.folder.glob("*.before1"))


def test_a_restore_says_in_each_job_it_touched_that_entries_were_lost(bay: Bay, job: str, tmp_path: Path) -> None:
    other = bay.open_job()
    bay.fine("copy", tmp_path)
    bay.fine("job", "abandon", job, "--why", "sold")
    said = bay.fine("restore", tmp_path, "--accept-shorter")
    assert f"job {job} may have lost entries" in said and other not in said
    assert bay.entries(other, kind="note") == []
    (note,) = bay.entries(job, kind="note")
    assert note.body == {"lost": {"from": 3, "to": 3}}
    assert "lost" in bay.fine("job", "show", job)
    audited = " ".join(bay.run("audit", job).output.split())
    assert "entries from 3 to 3 of the journal were lost afterwards" in audited


def test_what_was_erased_after_the_copy_is_erased_again_by_a_restore(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("copy", tmp_path)
    bay.fine("erase", job, "--why", "asked for")
    said = bay.fine("restore", tmp_path, "--accept-shorter")
    assert f"data of job {job}" in said and "erased again" in said
    assert "AB-12 X" not in bay.fine("job", "show", job)
    assert b"AB-12 X" not in (bay.folder / "journal.db").read_bytes()
    (erasure,) = bay.entries(job, kind="erasure")
    assert erasure.body["why"] == "erased before in an entry 2 that the copy did not have"


def test_a_restore_over_a_journal_that_cannot_be_read_says_what_it_cannot_know(
    bay: Bay, job: str, tmp_path: Path
) -> None:
    bay.fine("copy", tmp_path)
    bay.fine("erase", job, "--why", "asked for")
    (bay.folder / "journal.db").write_bytes(b"x" * 4096)
    for end in ("-wal", "-shm"):
        (bay.folder / f"journal.db{end}").unlink(missing_ok=True)
    said = bay.fine("restore", tmp_path, "--accept-shorter")
    assert "cannot be read: erase again whatever was erased" in said
    assert bay.entries(job, kind="note")[0].body == {"lost": {"from": 2}}


def test_a_lost_end_without_a_copy_is_accepted_by_the_lead(bay: Bay, job: str) -> None:
    ended = bay.open_job()
    bay.fine("job", "abandon", ended, "--why", "sold")
    assert "nothing is lost" in str(bay.run("accept-loss", "--reason", "disk").exception)
    (bay.folder / "journal.db.head").unlink()
    refused = bay.run("job", "abandon", job, "--why", "sold")
    assert refused.exit_code == 3 and "accept-loss" in refused.exception.hint  # type: ignore[union-attr]
    assert bay.run("accept-loss", "--reason", " ").exit_code == 2
    said = bay.fine("accept-loss", "--reason", "deleted by mistake")
    assert f"job {job} may have lost entries" in said and ended not in said
    assert bay.entries(job, kind="note")[0].body == {"lost": {"from": 4}}
    bay.fine("job", "abandon", job, "--why", "sold")
    assert bay.run("check").exit_code == 0


@pytest.mark.parametrize("ruined", [False, True])
def test_a_damaged_journal_is_replaced_by_a_copy_of_all_that_it_acknowledged(
    bay: Bay, job: str, tmp_path: Path, ruined: bool
) -> None:
    bay.fine("copy", tmp_path)
    if ruined:
        bay.shop.journal_path.write_bytes(b"ruined")
    else:
        changed(bay)
    assert "restored with 2 entries" in bay.fine("restore", tmp_path)
    bay.fine("check")


def test_a_restore_waits_until_nobody_has_the_journal(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("copy", tmp_path)
    with lock.Lock(lock.path_of(bay.shop.journal_path), "job run", bay.shop.clock):
        result = bay.run("restore", tmp_path)
    assert result.exit_code == 3 and "in use by job run" in str(result.exception)


def test_a_sound_journal_is_intact_against_a_checkpoint_held_elsewhere(bay: Bay, job: str, tmp_path: Path) -> None:
    words = bay.key()
    held = tmp_path / "held.txt"
    held.write_text(bay.fine("checkpoint", "--passphrase-file", words), encoding="utf-8")
    assert bay.fine("check").startswith("CONSISTENT, UNANCHORED: 4 entries are sound")
    assert bay.fine("check", "--anchor", held).startswith("INTACT")
    assert bay.fine("check", "--anchor", held.read_text(encoding="utf-8")).startswith("INTACT")
    assert bay.run("check", "--anchor", "2 " + "0" * 64).exit_code == 2
    assert bay.run("check", "--anchor", "nonsense").exit_code == 2


def test_damage_is_named_and_the_job_before_it_saved(bay: Bay, job: str, tmp_path: Path) -> None:
    with bay.shop.write() as journal:
        journal.connection.execute("DROP TRIGGER entries_are_never_changed")
        journal.connection.execute("UPDATE entries SET text = replace(text, 'depot-14', 'depot-15')")
    result = bay.run("check")
    assert result.exit_code == 1 and result.output.startswith("ALTERED") and "--rescue" in result.output
    saved = tmp_path / "saved.json"
    bay.fine("check", "--rescue", job, "-o", saved)
    assert "CONSISTENT" in bay.fine("verify", saved)
    assert bay.run("check", "--rescue", "J-9").exit_code == 2


def test_a_lost_end_is_named_as_a_process_would(bay: Bay, job: str) -> None:
    bay.open_job()
    bay.open_job()
    with bay.shop.write() as journal:
        journal.connection.execute("DROP TRIGGER entries_are_never_deleted")
        journal.connection.execute("DELETE FROM entries WHERE seq > 1")
    done = bay.process("check")
    assert (done.returncode, done.stderr) == (1, "")
    assert done.stdout.startswith("END DAMAGED: 2 entries are sound") and "4 entries were acknowledged" in done.stdout
    refused = bay.process("erase", job, "--why", "x")
    assert refused.returncode == 3 and "Traceback" not in refused.stderr and "end is damaged" in refused.stderr


@pytest.mark.parametrize(
    "words", [("check",), ("copy", "x"), ("job", "list", "--vin", "x"), ("erase", "J", "--why", "x")]
)
def test_where_there_is_no_journal_none_is_made(bay: Bay, words: tuple[str, ...]) -> None:
    result = bay.run(*words)
    assert result.exit_code == 3 and "there is no journal" in str(result.exception)
    assert not bay.folder.exists()


def test_a_file_that_is_no_journal_is_said(bay: Bay) -> None:
    bay.folder.mkdir()
    bay.shop.journal_path.write_bytes(b"x" * 5000)
    for words in (("check",), ("job", "list"), ("key", "show")):
        done = bay.process(*words)
        assert done.returncode in (1, 3) and "Traceback" not in done.stderr + done.stdout


def changed(bay: Bay) -> None:
    """Change an entry of another job, with the sheet of this one still there."""
    with bay.shop.write() as journal:
        journal.connection.execute("DROP TRIGGER entries_are_never_changed")
        journal.connection.execute("UPDATE entries SET text = replace(text, 'depot-14', 'depot-15') WHERE seq = 1")


def end_lost(bay: Bay) -> None:
    with bay.shop.write() as journal:
        journal.connection.execute("DROP TRIGGER entries_are_never_deleted")
        journal.connection.execute("DELETE FROM entries WHERE seq = (SELECT max(seq) FROM entries)")


def head_gone(bay: Bay) -> None:
    heads.path_of(bay.shop.journal_path).unlink()


def head_random(bay: Bay) -> None:
    heads.path_of(bay.shop.journal_path).write_bytes(bytes(range(256)) * 4)


def key_replaced(bay: Bay) -> None:
    with bay.shop.write() as journal:
        body = journal.entry(2).body["key"]
        other = str(PublicKey(body.partition("+")[0], bytes(32)))
        journal.connection.execute("DROP TRIGGER entries_are_never_changed")
        journal.connection.execute("UPDATE entries SET text = replace(text, ?, ?) WHERE seq = 2", (body, other))


@pytest.mark.parametrize("damage", [changed, end_lost, head_gone, head_random, key_replaced])
def test_audit_statement_sheet_and_release_say_what_the_check_of_the_journal_finds(
    bay: Bay, job: str, damage: Callable[[Bay], None], tmp_path: Path
) -> None:
    words = bay.key()
    later = bay.open_job()
    bay.fine("sheet", job, "-o", tmp_path / "sealed.html", "--passphrase-file", words)
    bay.open_job()
    assert bay.run("audit", later, "--question", "30").exit_code == 0
    damage(bay)
    verdict = bay.run("check").output.partition(":")[0].lower()
    audited = bay.run("audit", later, "--question", "30")
    assert audited.exit_code == 1 and f"the record is {verdict}" in audited.output and "X not met" in audited.output
    for what in (("sheet", later, "--unsealed"), ("statement", later)):
        paper = tmp_path / f"{what[0]}.html"
        bay.fine(*what, "-o", paper)
        assert f"{verdict}: the check of the whole journal finds" in paper.read_text(encoding="utf-8")
    refused = bay.run("job", "release", later, "--by", "l-heron", "--unsealed")
    assert refused.exit_code in (2, 3) and f"not met: {verdict}" in str(refused.exception)


@pytest.mark.parametrize("damage", [changed, end_lost, head_gone, head_random, key_replaced])
def test_a_journal_that_is_not_sound_gets_no_signature(
    bay: Bay, job: str, damage: Callable[[Bay], None], tmp_path: Path
) -> None:
    words = bay.key()
    later = bay.open_job()
    bay.fine("sheet", job, "-o", tmp_path / "sealed.html", "--passphrase-file", words)
    bay.open_job()
    damage(bay)
    before = [one.seq for one in bay.entries()]
    paper = tmp_path / "paper"
    for signs in (
        ("evidence", later, "-o", paper),
        ("sheet", later, "-o", paper),
        ("checkpoint",),
        ("job", "abandon", later, "--why", "x"),
    ):
        refused = bay.run(*signs, "--passphrase-file", words)
        assert refused.exit_code in (2, 3) and refused.exception.hint, signs  # type: ignore[union-attr]
        assert not paper.exists() and "\u2014" not in refused.output, signs
    assert [one.seq for one in bay.entries()] == before
    bay.fine("evidence", later, "-o", paper, "--unsealed")
    assert b'"proof":null' in paper.read_bytes()


def test_an_entry_changed_under_a_sound_end_is_named_and_nothing_is_signed(bay: Bay, job: str, tmp_path: Path) -> None:
    words = bay.key()
    with bay.shop.write() as journal:
        journal.append_many([Draft("note", job, "person:t-otter", body={"n": number}) for number in range(600)])
    changed(bay)
    for signs in (("evidence", job, "-o", tmp_path / "e"), ("checkpoint",), ("job", "abandon", job, "--why", "x")):
        refused = bay.run(*signs, "--passphrase-file", words)
        assert refused.exit_code == 3 and "the journal is not sound: entry 1 is not the one" in str(refused.exception)
        assert "nothing was signed: run `witnessmark check`" in refused.exception.hint  # type: ignore[union-attr]
    assert [one.kind for one in bay.entries()].count("checkpoint") == 0


def test_the_audit_of_a_journal_says_what_in_it_is_signed_and_by_which_key(bay: Bay, job: str, tmp_path: Path) -> None:
    assert "no checkpoint in it is signed" in " ".join(bay.fine("audit", job, "--question", "30").split())
    words = bay.key()
    bay.fine("sheet", job, "-o", tmp_path / "sealed.html", "--passphrase-file", words)
    key = str(bay.entries(kind="key")[0].body["key"]).split("+")[1]
    told = " ".join(bay.fine("audit", job, "--question", "30").split())
    assert f"the last checkpoint in it (entry 3) signs the first 3 entries, 1 stand after them, by key {key}" in told


def test_a_copy_to_no_place_is_refused_and_writes_nothing(
    bay: Bay, job: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(empty)
    assert bay.run("copy", "").exit_code == 2
    assert list(empty.iterdir()) == []


def test_a_copy_to_a_place_that_takes_none_says_so(bay: Bay, job: str) -> None:
    result = bay.run("copy", "/proc/self/journal.db")
    assert result.exit_code == 3 and "cannot be written" in str(result.exception)


def test_show_names_the_kinds_when_given_one_that_is_none(bay: Bay, job: str) -> None:
    result = bay.run("job", "show", job, "--kind", "bogus")
    assert result.exit_code == 2 and "job-opened" in result.output
