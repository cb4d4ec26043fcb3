"""What was keyed in wrong: the last line is taken back, a time is corrected, and both stay visible."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay, at
from tests.cli.test_card_times import GRADE, key, live, opened, told
from tests.cli.test_empty_card import BEFORE, CLOSES, findings, open_job
from tests.cli.test_entering import BOXED
from tests.cli.test_keyed_in_papers import paper

from witnessmark.audit.amended import as_corrected
from witnessmark.clock import ManualClock
from witnessmark.errors import InputError
from witnessmark.host.card import entering
from witnessmark.host.card.card_back import taken_back
from witnessmark.journal import amendment, bodies
from witnessmark.journal.entry import Entry, Recorded, corrected, occurred, withdrawn


@pytest.fixture
def job(bay: Bay, tmp_path: Path, clock: ManualClock) -> str:
    """A job that was opened six hours before its card is keyed in."""
    made = opened(bay, tmp_path)
    clock.advance(6 * 3600)
    return made


def typed(seq: int, kind: str, **body: str) -> Entry:
    """Return an entry that was keyed in."""
    recorded = Recorded(boot=None, boot_id="b", mono="1", process="p", rate=1, wall="1")
    when = occurred(1, 1, basis="typed")
    who = "person:t-otter"
    return Entry(body, who, who, 1, "J-1", "", seq, kind, when, recorded, "", seq)


def test_a_line_that_was_mistyped_is_taken_back_and_asked_for_again_and_both_stay(bay: Bay, job: str) -> None:
    said, made = key(bay, job, *BEFORE, "?", "back the time is there", CLOSES, "10:50")
    line = said.partition("taken back:")[2].splitlines()[1]
    assert line.split()[:1] == [str(made[5].seq)] and "not written on the card" in line
    assert "6 of 6" in said
    wrong = made[5]
    assert wrong.body["step"] == "not-written" and made[6].body["target"] == wrong.seq
    assert "taken back: it counts as not keyed in (the time is there)" in bay.fine("job", "show", job)
    assert findings(bay, job)["torque-cap"]["answer"] == "met"
    assert not [one for one in told(bay, job)["standing"] if "OPEN" in one["text"]], "the nipple is closed"
    assert "taken back" in paper(bay, "sheet", job)


def test_a_run_is_taken_back_with_both_its_ends_and_line_by_line_further(bay: Bay, job: str) -> None:
    said, _ = key(bay, job, *BEFORE, "back", "back", "10:42:05")
    assert said.count("taken back") == 2 and "4/6 p1, rear right" in said
    state = entering.state_of(bay.shop, job)
    assert (state.cursor, state.runs, state.open_nipples) == (3, (), ("rr",))
    key(bay, job, *BEFORE[3:], CLOSES)
    served = findings(bay, job)["served"]
    assert served["answer"] == "met", "it was done once, at either time"
    assert "corrected in entry" in served["text"] and "same answer" in served["text"]


def test_the_last_line_of_a_whole_card_is_taken_back_at_the_next_sitting(bay: Bay, job: str) -> None:
    key(bay, job, *BEFORE, CLOSES, "10:50")
    said, _ = key(bay, job, "10:51", "back", "10:52")
    assert "all 6 steps are keyed in" in said and "nothing more is asked for" in said and "taken back" in said
    assert told(bay, job)["timeline"]["steps"][-1]["at"]["text"].startswith("10:52")


def test_what_was_done_at_the_screen_is_not_taken_back(bay: Bay, job: str) -> None:
    said, made = key(bay, job, "back")
    assert "nothing that was keyed in stands last" in said and "  do: " in said and not made
    live(bay, job, GRADE)
    said, made = key(bay, job, "back")
    assert f"entry {bay.entries(job)[-1].seq} is no line" in said and not made


def test_a_time_that_was_keyed_in_is_corrected_of_a_line_and_of_a_run(bay: Bay, job: str) -> None:
    _, made = key(bay, job, *BEFORE[:3], "10:42:20 10:42:23", CLOSES, "10:50")
    assert findings(bay, job)["duration"]["answer"] == "not met"
    said = bay.fine("amend", made[4].seq, "--reason", "misread", "--set", "at=10:42:30")
    assert "at: 2026-03-02 10:42:30" in said and "occurred" not in said
    found = findings(bay, job)["duration"]
    assert found["answer"] == "no proof" and "as corrected met" in found["text"]
    bay.fine("amend", made[1].seq, "--reason", "misread", "--set", "at=2026-03-02 10:40")
    last = bay.entries(kind="amendment")[-1]
    assert corrected(last.body["instead"]["occurred"]).from_ns == at("10:40:00")
    again = bay.run("amend", made[1].seq, "--reason", "misread", "--set", "at=2026-03-02 10:40")
    assert "it reads so already" in str(again.exception)


@pytest.mark.parametrize(
    ("entry", "given", "said", "hint"),
    [
        (1, "at=25:00", "is no time", "at=10:42"),
        (1, "at=soon 10:42", "'soon' is no day", "at=2026-03-31 10:42"),
        (1, "at=2000-01-01 00:00", "2000-01-01 is before the job", "no day before 2026-03-02"),
        (1, "at=2026-03-01 23:59", "2026-03-01 is before the job", "--on DAY"),
        (1, "at.foo=10:42", "at has no parts", "--set at=10:42"),
        (1, "withdrawn=true", "no such field", "it has: "),
        (1, "time=10:42", "no such field", "at"),
        (2, "amount.value=8", "this line is not written", "and back until it is asked for again"),
        (0, "at=10:42", "a clock was read", "attachment"),
        (3, "pass_id=p1", "says when something was seen", "--set at=10:42"),
    ],
)
def test_what_cannot_be_corrected_says_what_to_do_instead(
    bay: Bay,
    job: str,
    entry: int,
    given: str,
    said: str,
    hint: str,
) -> None:
    key(bay, job, BEFORE[0], "?", "10:42", BEFORE[3])
    seqs = [bay.entries(job)[0].seq, *(one.seq for one in bay.entries(job) if one.kind != "job-opened")]
    made = {0: seqs[0], 1: seqs[1], 2: seqs[2], 3: seqs[4]}
    result = bay.run("amend", made[entry], "--reason", "x", "--set", given)
    assert isinstance(result.exception, InputError) and said in str(result.exception)
    assert hint in result.exception.hint and not bay.entries(kind="amendment")


def test_a_corrected_time_that_cannot_be_read_leaves_no_proof_and_every_paper_stands(bay: Bay, job: str) -> None:
    _, made = key(bay, job, *BEFORE, CLOSES)
    with bay.shop.write() as journal:
        amendment.amend(journal, made[3].seq, "person:t-otter", reason="x", instead={"occurred": {"from": "soon"}})
    assert "cannot be read" in findings(bay, job)["duration"]["text"]
    assert paper(bay, "statement", job)


def test_what_a_machine_saw_is_not_taken_back_whatever_an_amendment_says(bay: Bay, job: str) -> None:
    live(bay, job, bodies.StepDone(step="grade", act="done", affects="fluid-grade", answer="DOT 4"))
    with bay.shop.write() as journal:
        amendment.amend(journal, journal.size - 1, "person:t-otter", reason="x", instead={"withdrawn": True})
    assert entering.state_of(bay.shop, job).cursor == 1


def test_a_line_that_was_taken_back_stays_so_for_the_walk_and_for_the_audit(bay: Bay, job: str) -> None:
    _, made = key(bay, job, *BEFORE, CLOSES, "back")
    torque = made[5].seq
    refused = bay.run("amend", torque, "--reason", "x", "--set", "withdrawn=false")
    assert isinstance(refused.exception, InputError) and "no such field" in str(refused.exception)
    assert "withdrawn" not in refused.exception.hint
    before = findings(bay, job)
    with bay.shop.write() as journal:
        amendment.amend(journal, torque, "person:t-otter", reason="x", instead={"withdrawn": False})
        entries = list(journal.entries(job))
    assert torque in withdrawn(entries)
    assert [one.kind for one in as_corrected(entries) if one.seq == torque] == ["note"]
    assert {name: one["answer"] for name, one in findings(bay, job).items()} == {
        name: one["answer"] for name, one in before.items()
    }
    assert entering.state_of(bay.shop, job).open_nipples == ("rr",)


def test_a_card_keyed_in_of_an_earlier_day_is_corrected_within_that_day(bay: Bay, job: str) -> None:
    _, made = key(bay, job, BEFORE[0], on="2026-03-01")
    bay.fine("amend", made[0].seq, "--reason", "misread", "--set", "at=2026-03-01 10:39")
    refused = bay.run("amend", made[0].seq, "--reason", "misread", "--set", "at=2026-02-28 10:39")
    assert isinstance(refused.exception, InputError) and "no day before 2026-03-01" in refused.exception.hint


def test_a_line_that_wrote_several_entries_is_taken_back_whole(bay: Bay, tmp_path: Path, clock: ManualClock) -> None:
    text = BOXED.replace('order = "before"', 'order = "with"').replace('tolerance = "60 s"', 'tolerance = "1 s"')
    (tmp_path / "with.toml").write_text(text, encoding="utf-8")
    job = open_job(bay, tmp_path / "with.toml")
    clock.advance(6 * 3600)
    key(bay, job, *BEFORE[:2])
    before = entering.state_of(bay.shop, job)
    for line, count in (("10:42:20 10:42:30 10:42:21", 3), ("10:42:20 10:42:30 ?", 3), ("?", 2)):
        _, made = key(bay, job, line)
        assert len(made) == count, [one.body for one in made]
        _, back = key(bay, job, "back")
        assert [one.body["target"] for one in back] == [one.seq for one in reversed(made)]
        state = entering.state_of(bay.shop, job)
        assert (state.cursor, state.open_nipples, state.runs) == (before.cursor, (), ())
    key(bay, job, "10:42:20 10:42:30 10:42:21")
    at_torque = entering.state_of(bay.shop, job)
    for line in ("10:43 8.1 N.m, not clear: brown, capped", "10:43 ?, not clear: brown, capped"):
        _, made = key(bay, job, line)
        assert [one.body["step"] for one in made][1:] == ["not-clear"]
        _, back = key(bay, job, "back")
        assert [one.body["target"] for one in back] == [one.seq for one in reversed(made)]
        state = entering.state_of(bay.shop, job)
        assert (state.cursor, state.open_nipples) == (at_torque.cursor, ("rr",))


def test_a_nipple_that_opens_before_its_run_is_a_line_of_its_own(bay: Bay, job: str) -> None:
    _, made = key(bay, job, *BEFORE[:3])
    _, back = key(bay, job, "back")
    assert [one.body["target"] for one in back] == [made[-1].seq]


def test_who_was_ready_is_taken_back_with_the_run_that_it_is_of() -> None:
    ready = typed(1, "step", step="ready-at-wheel", act="confirmed", pass_id="p1")
    start, end = typed(2, "intent", pass_id="p1"), typed(3, "outcome", pass_id="p1")
    opened_1, opened_2 = (typed(seq, "step", step="open", act="opened", pass_id="p1") for seq in (4, 5))
    line = (ready, start, end, opened_1, opened_2)
    earlier = typed(0, "step", step="open", act="opened", pass_id="p1")
    targets = [one.body["target"] for one in taken_back((earlier, *line), "person:t-otter", "")]
    assert targets == [5, 4, 3, 2, 1]
    targets = [one.body["target"] for one in taken_back((earlier, opened_1), "person:t-otter", "")]
    assert targets == [4], "two lines, each with a nipple of its own"
