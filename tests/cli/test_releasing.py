"""A job's end as a shop meets it: closed, abandoned, released; the gate, the tag, and who may open it."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Literal

import pytest
from tests.cli.bay import PROCEDURE, VIN, Bay
from tests.report.test_sheet import Page

from witnessmark.audit.run import Audit
from witnessmark.clock import NS
from witnessmark.host import releasing
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, occurred


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job()


def finish(bay: Bay, job: str) -> None:
    with bay.shop.write() as journal:
        journal.append(Draft("state", job, "person:t-otter", body=bodies.to_body(bodies.State(state="finished"))))


def states(bay: Bay, job: str) -> list[str]:
    return [one.body["state"] for one in bay.entries(job, kind="state")]


def test_a_job_with_open_steps_is_not_closed_and_they_are_listed(bay: Bay, job: str) -> None:
    result = bay.run("job", "close", job)
    assert result.exit_code == 2 and "not done: Chock the wheels" in str(result.exception) and states(bay, job) == []


def test_a_job_is_abandoned_with_a_reason_and_only_once(bay: Bay, job: str) -> None:
    assert bay.run("job", "abandon", job, "--why", " ").exit_code == 2
    assert "NOT RELEASED" in bay.fine("job", "abandon", job, "--why", "the parts did not come")
    assert states(bay, job) == ["abandoned"]
    assert bay.run("job", "abandon", job, "--why", "again").exit_code == 2


def test_what_stands_open_on_the_vehicle_is_first_on_its_tag_and_said_when_the_job_is_abandoned(
    bay: Bay, job: str
) -> None:
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(opened)))
    bay.fine("tag", job, "-o", bay.folder / "tag.html")
    text = (bay.folder / "tag.html").read_text(encoding="utf-8")
    assert 0 < text.find("Nipple rear left is OPEN: close it.") < text.find("Open:")
    assert "nipple rear left stands open" in str(bay.run("job", "close", job).exception)
    assert "Nipple rear left is OPEN: close it." in bay.fine("job", "abandon", job, "--why", "the parts did not come")
    refused = bay.run("job", "release", job, "--by", "l-heron").exception
    assert f"follows {job}" in refused.hint  # type: ignore[union-attr]


def test_what_is_open_keeps_the_gate_shut_and_is_listed(bay: Bay, job: str) -> None:
    result = bay.run("job", "release", job, "--by", "l-heron")
    told = str(result.exception)
    assert result.exit_code == 2 and "NOT RELEASED: DO NOT DRIVE" in told
    assert "the job is open, not finished" in told and "Was every nipple served?" in told
    assert states(bay, job) == []


def test_questions_are_accepted_by_number_with_a_reason_and_the_entry_says_so(bay: Bay, job: str) -> None:
    finish(bay, job)
    hint = bay.run("job", "release", job, "--by", "l-heron").exception.hint  # type: ignore[union-attr]
    numbers = hint.partition("--accept ")[2].partition(" ")[0]
    assert bay.run("job", "release", job, "--by", "l-heron", "--accept", numbers).exit_code == 2
    told = bay.fine("job", "release", job, "--by", "l-heron", "--accept", numbers, "--why", "towed to the maker")
    assert "is released by l-heron" in told and "accepted: 4 Was every nipple served?" in told
    assert states(bay, job) == ["finished", "released"]
    released = bay.entries(job, kind="state")[-1]
    assert released.done_by == "person:l-heron" and len(released.body["accepted"]) == len(numbers.split(","))
    sheet = bay.folder / "sheet.html"
    bay.fine("sheet", job, "-o", sheet)
    text = sheet.read_text(encoding="utf-8")
    front, _, lead = text.partition("What was done")
    assert "Released by l-heron (by name only)" in front and "Accepted by l-heron as open: questions" in front
    assert "Was every nipple served? no proof" not in front
    assert "Was every nipple served? no proof" in " ".join(lead.split()) and "nobody was on record as a lead" in lead


def test_a_question_that_the_procedure_leaves_out_is_named_at_the_gate_and_holds_nothing(bay: Bay) -> None:
    bay.folder.mkdir()
    own = bay.folder / "own.toml"
    left = '[[leaves_out]]\nquestion = "5"\nwhy = "any order will do"\n\n[[steps_before]]'
    own.write_text(PROCEDURE.read_text(encoding="utf-8").replace("[[steps_before]]", left, 1), encoding="utf-8")
    job = bay.open_job("--procedure", own)
    finish(bay, job)
    refused = bay.run("job", "release", job, "--by", "l-heron").exception
    said = "5 In the maker's order? left out by the procedure: any order will do"
    numbers = refused.hint.partition("--accept ")[2].partition(" ")[0]  # type: ignore[union-attr]
    assert said in str(refused) and "5" not in numbers.split(",")
    told = bay.fine("job", "release", job, "--by", "l-heron", "--accept", numbers, "--why", "towed to the maker")
    assert f"  not asked: {said}\n" in told


def test_whatever_is_accepted_the_hint_names_all_that_holds_in_one_command(bay: Bay, job: str) -> None:
    finish(bay, job)
    told = bay.run("job", "release", job, "--by", "l-heron").exception.hint  # type: ignore[union-attr]
    command = told.partition(": ")[2]
    assert command.startswith(f"witnessmark job release {job} --accept 1,") and command.endswith(" --why ...")
    for accept in ("4", "4,30", "37"):
        again = bay.run("job", "release", job, "--by", "l-heron", "--accept", accept, "--why", "towed").exception
        assert command.partition("--accept ")[2] in again.hint  # type: ignore[union-attr]


def test_an_unfinished_job_is_released_by_no_reason(bay: Bay, job: str) -> None:
    every = ",".join(str(number) for number in range(1, 37))
    assert bay.run("job", "release", job, "--by", "l-heron", "--accept", every, "--why", "x").exit_code == 2


def test_once_a_shop_has_people_only_a_lead_releases_or_whom_the_shop_names(bay: Bay, job: str) -> None:
    finish(bay, job)
    pin = bay.folder / "pin"
    pin.write_text("4711", encoding="utf-8")
    bay.fine("person", "add", "l-heron", "--role", "lead", "--new-pin-file", pin)
    bay.fine("person", "add", "t-otter", "--new-pin-file", pin, "--by", "l-heron", "--pin-file", pin)
    refused = bay.run("job", "release", job, "--pin-file", pin)
    assert refused.exit_code == 2 and "only a shop lead may release a job" in str(refused.exception)
    (bay.folder / "release.toml").write_text('may_release = ["t-otter"]\n', encoding="utf-8")
    named = bay.run("job", "release", job, "--pin-file", pin)
    assert "NOT RELEASED" in str(named.exception), "named, so the gate is asked"
    numbers = named.exception.hint.partition("--accept ")[2].partition(" ")[0]  # type: ignore[union-attr]
    bay.fine("job", "release", job, "--pin-file", pin, "--accept", numbers, "--why", "towed")
    body = bay.entries(job, kind="state")[-1].body
    assert (body["proven"], body["may_release"]) == ("pin", ["t-otter"])
    pin.write_text("0000", encoding="utf-8")
    assert "not the PIN" in str(bay.run("job", "release", job, "--pin-file", pin).exception)


def worked(bay: Bay, job: str, by: str) -> None:
    """Record that `by` read how old the container is."""
    body = bodies.Reading(what="container-age", amount=bodies.Amount("3", "d"), step="container-age")
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, f"person:{by}", body=bodies.to_body(body)))


def test_without_a_people_file_nobody_who_did_work_in_the_bay_releases_by_name_alone(bay: Bay, job: str) -> None:
    other = bay.open_job()
    worked(bay, job, "t-otter")
    worked(bay, other, "t-crane")
    finish(bay, job)
    for by, where in (("t-otter", job), ("t-crane", other)):
        refused = bay.run("job", "release", job, "--by", by)
        told = str(refused.exception)
        assert refused.exit_code == 2 and f"nobody is on record as a lead, and {by} did work on job {where}" in told
        assert "person add ID --role lead" in refused.exception.hint  # type: ignore[union-attr]
    assert "DO NOT DRIVE" in str(bay.run("job", "release", job, "--by", "l-heron").exception), "the gate is asked"
    (bay.folder / "release.toml").write_text('may_release = ["t-otter"]\n', encoding="utf-8")
    assert "DO NOT DRIVE" in str(bay.run("job", "release", job, "--by", "t-otter").exception), "the shop names them"
    refused = bay.run("job", "release", job, "--by", "l-heron")
    assert "release.toml does not name l-heron" in str(refused.exception)
    assert states(bay, job) == ["finished"]


def test_who_ran_a_wire_command_did_work_too_and_another_way_to_write_an_id_is_nobody_else(bay: Bay, job: str) -> None:
    intent = bodies.Intent(
        pass_id="p1", nipples=(), wire_command="pump-rear", seconds="12", start="", stop="", peer={}, grade="told"
    )
    with bay.shop.write() as journal:
        journal.append(Draft("intent", job, "person:t-crane", body=bodies.to_body(intent)))
    worked(bay, job, "t-otter")
    finish(bay, job)
    for by in ("t-crane", "T-Otter"):
        for name in (job, bay.open_job()):
            refused = bay.run("job", "release", name, "--by", by)
            assert refused.exit_code == 2 and f"{by} did work on job {job}" in str(refused.exception)


@pytest.mark.parametrize("content", [b"\xff\xfe", b"may_release = " + b"[" * 3000, None])
def test_a_file_of_who_may_release_that_cannot_be_read_is_named(bay: Bay, job: str, content: bytes | None) -> None:
    path = bay.folder / "release.toml"
    path.mkdir() if content is None else path.write_bytes(content)
    refused = bay.run("job", "release", job, "--by", "l-heron")
    assert refused.exit_code == 2 and "release.toml" in f"{refused.exception.place} {refused.exception}"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ('may_release = ["t-otter"]\nmust_release = ["t-crane"]\n', "release.toml line 2", "must_release"),
        ('may_release = "t-otter"\n', "release.toml line 1", "does not fit"),
        ('may_realease = ["t-otter"]\n', "release.toml line 1", "may_realease"),
    ],
)
def test_a_key_that_nobody_knows_beside_who_may_release_is_refused_by_its_line(
    bay: Bay, job: str, text: str, place: str, what: str
) -> None:
    (bay.folder / "release.toml").write_text(text, encoding="utf-8")
    refused = bay.run("job", "release", job, "--by", "l-heron")
    told = f"{refused.exception} {refused.exception.place}"  # type: ignore[union-attr]
    assert refused.exit_code == 2 and place in told and what in told and refused.exception.hint  # type: ignore[union-attr]


def released(bay: Bay, job: str) -> str:
    """Finish a job in which one reading was made, release it by name only, and return what was printed."""
    worked(bay, job, "t-otter")
    finish(bay, job)
    hint = bay.run("job", "release", job, "--by", "l-heron").exception.hint  # type: ignore[union-attr]
    numbers = hint.partition("--accept ")[2].partition(" ")[0]
    return bay.fine("job", "release", job, "--by", "l-heron", "--accept", numbers, "--why", "towed")


def paper(bay: Bay, what: str, job: str) -> str:
    path = bay.folder / f"{what}.html"
    bay.fine(what, job, "-o", path)
    return " ".join(Page(path.read_text(encoding="utf-8")).text.split())


def test_a_job_that_is_released_already_is_said_to_be(bay: Bay, job: str) -> None:
    released(bay, job)
    for more in ((), ("--accept", "30", "--why", "x"), ("--accept", "1")):
        refused = bay.run("job", "release", job, "--by", "l-heron", *more)
        assert refused.exit_code == 2 and f"job {job} is released already" in str(refused.exception)
        assert "NOT RELEASED" not in str(refused.exception)
    assert states(bay, job) == ["finished", "released"]


def test_what_a_release_by_name_rests_on_is_printed_and_stands_on_every_paper(bay: Bay, job: str) -> None:
    said = "the shop has no people file"
    assert said in released(bay, job)
    assert all(said in paper(bay, what, job) for what in ("tag", "sheet", "statement"))


def test_a_correction_that_opens_something_after_the_release_is_on_every_paper_until_it_is_released_anew(
    bay: Bay, job: str
) -> None:
    released(bay, job)
    papers = ("tag", "sheet", "statement")
    banner = "OPEN SINCE ITS RELEASE: DO NOT DRIVE"
    assert not any(banner in paper(bay, what, job) for what in papers)
    (reading,) = bay.entries(job, kind="reading")
    bay.fine("amend", reading.seq, "--set", "amount.value=4", "--reason", "misread")
    assert not any(banner in paper(bay, what, job) for what in papers), "it is as fresh as before"
    assert "OPEN" not in bay.fine("job", "list")
    bay.fine("amend", reading.seq, "--set", "amount.value=300", "--reason", "misread again")
    for what in papers:
        text = paper(bay, what, job)
        assert banner in text and "Was the container fresh?" in text.partition(banner)[2][:400], what
    listed = bay.fine("job", "list")
    assert "OPEN AGAIN" in listed and "! open since its release: 3 container-age not met" in listed
    refused = bay.run("job", "release", job, "--by", "l-heron", "--accept", "37", "--why", "renewed")
    told = (
        "question 37 holds nothing; the job is released already, and open again:\n  3 Was the container fresh? not met"
    )
    assert told in str(refused.exception)
    refused = bay.run("job", "release", job, "--by", "l-heron")
    assert "3 Was the container fresh? not met" in str(refused.exception)
    numbers = refused.exception.hint.partition("--accept ")[2].partition(" ")[0]  # type: ignore[union-attr]
    bay.fine("job", "release", job, "--by", "l-heron", "--accept", numbers, "--why", "renewed")
    assert not any(banner in paper(bay, what, job) for what in papers) and "OPEN" not in bay.fine("job", "list")
    assert f"job {job} is released already" in str(bay.run("job", "release", job, "--by", "l-heron").exception)


def test_tag_and_statement_say_not_released_and_what_is_open(bay: Bay, job: str) -> None:
    for what in ("tag", "statement"):
        path = bay.folder / f"{what}.html"
        bay.fine(what, job, "-o", path)
        text = path.read_text(encoding="utf-8")
        assert "NOT RELEASED" in text and "<script" not in text
    assert "questions have no proof yet" in (bay.folder / "tag.html").read_text(encoding="utf-8")


def test_a_shops_policy_sets_a_tolerance_of_the_audit_and_a_mistake_in_it_stops_the_audit(bay: Bay, job: str) -> None:
    def findings() -> str:
        return bay.run("audit", job, "--question", "31", "--question", "28", "-v").output

    late = bodies.to_body(bodies.StepDone(step="make-safe", act="done"))
    with bay.shop.write() as journal:
        now = bay.shop.clock.stamp().wall_ns
        when = occurred(now - 100 * NS, now - 90 * NS, basis="touch")
        journal.append(Draft("step", job, "person:t-otter", occurred=when, body=late))
    assert "after it happened" in findings()
    assert "tolerances: those of the questions, no policy of a shop\n" in findings()
    (bay.folder / "policy.toml").write_text("lag_s = 300\n", encoding="utf-8")
    assert "none later than 300 s" in findings()
    digest = sha256((bay.folder / "policy.toml").read_bytes()).hexdigest()
    line = f"policy of the shop that made this, SHA-256 {digest[:16]}: lag_s 300 instead of 60"
    assert f"tolerances: {line}\n" in findings()
    told = json.loads(bay.run("audit", job, "--json").output)["policy"]
    assert told == {"digest": digest, "differs": [{"name": "lag_s", "value": 300, "standing": 60}], "text": line}
    for paper in ("sheet", "statement"):
        bay.fine(paper, job, "-o", bay.folder / "paper.html")
        assert line in (bay.folder / "paper.html").read_text(encoding="utf-8")
    (bay.folder / "policy.toml").write_text("lag_s = 0\n", encoding="utf-8")
    result = bay.run("audit", job)
    assert "policy.toml line 1, lag_s: this is not from 1 to 3600" in str(result.exception) and result.exit_code == 2
    (bay.folder / "policy.toml").unlink()
    (bay.folder / "policy.toml").mkdir()
    result = bay.run("audit", job)
    assert str(result.exception).startswith("policy.toml: it cannot be read: ") and result.exit_code == 2


def test_who_looked_and_did_not_find_it_safe_keeps_the_gate_shut(bay: Bay, job: str) -> None:
    finish(bay, job)
    intent = bodies.Intent(
        pass_id="p1", nipples=("rear-left",), wire_command="pump-rear", seconds="10", start="31010301", stop="", peer={}
    )

    def looked(safe: bool) -> str:
        body = bodies.Inspection(actuation=run, pass_id="p1", said="", safe=safe)
        with bay.shop.write() as journal:
            journal.append(Draft("inspection", job, "person:t-otter", body=bodies.to_body(body)))
        return str(bay.run("job", "release", job, "--by", "l-heron").exception)

    with bay.shop.write() as journal:
        run = journal.append(Draft("intent", job, "machine:runner", body=bodies.to_body(intent))).seq
    assert "nobody knows how" in str(bay.run("job", "release", job, "--by", "l-heron").exception)
    told = looked(True)
    assert "nobody knows how" not in told and "did not find it safe" not in told
    assert "did not find it safe" in looked(False)
    assert "did not find it safe" not in looked(True)


def test_what_is_written_while_the_gate_is_looked_at_keeps_it_shut(
    bay: Bay, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    finish(bay, job)
    hint = bay.run("job", "release", job, "--by", "l-heron").exception.hint  # type: ignore[union-attr]
    numbers = hint.partition("--accept ")[2].partition(" ")[0]
    before = releasing.gate_of

    def meanwhile(audit: Audit) -> releasing.Gate:
        step = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
        with bay.shop.write() as journal:
            journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(step)))
        return before(audit)

    monkeypatch.setattr(releasing, "gate_of", meanwhile)
    result = bay.run("job", "release", job, "--by", "l-heron", "--accept", numbers, "--why", "towed")
    assert "something was written meanwhile" in str(result.exception) and states(bay, job) == ["finished"]


def test_what_a_newer_job_opened_on_the_vehicle_keeps_the_gate_of_an_older_one_shut_and_is_on_its_tag(bay: Bay) -> None:
    first = bay.open_job("--vin", VIN)
    finish(bay, first)
    hint = bay.run("job", "release", first, "--by", "l-heron").exception.hint  # type: ignore[union-attr]
    accept = ("--accept", hint.partition("--accept ")[2].partition(" ")[0], "--why", "towed")
    second = bay.open_job("--vin", VIN)

    def write(act: Literal["opened", "closed"]) -> None:
        step = bodies.StepDone(step="open", act=act, pass_id="p1", nipple="rear-left")
        with bay.shop.write() as journal:
            journal.append(Draft("step", second, "person:t-otter", body=bodies.to_body(step)))

    write("opened")
    refused = bay.run("job", "release", first, "--by", "l-heron", *accept)
    stands = f"Job {second} (open): Nipple rear left is OPEN: close it."
    assert refused.exit_code == 2 and stands in str(refused.exception) and states(bay, first) == ["finished"]
    assert "in that job, or in a new one" in refused.exception.hint  # type: ignore[union-attr]
    write("closed")
    bay.fine("job", "release", first, "--by", "l-heron", *accept)
    write("opened")
    assert "! Nipple rear left is OPEN: close it." in bay.fine("job", "list")
    tag = bay.folder / "tag.html"
    bay.fine("tag", first, "-o", tag)
    text = tag.read_text(encoding="utf-8")
    assert 0 < text.find(stands) < text.find("<strong>DO NOT DRIVE</strong>") < text.find("Released by l-heron")
