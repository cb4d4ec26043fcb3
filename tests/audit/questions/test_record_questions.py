"""Questions 1, 27, 28, 29, 31, 32 and 37, the record itself: each of their answers from a small timeline."""

from __future__ import annotations

import msgspec
import pytest
from tests.audit.jobs import TECHNICIAN, Job, clean, edit
from tests.audit.procedures import visited, whole
from tests.audit.shipped import ask

from witnessmark.journal import bodies

VIN = "1M8GDM9AXKP042788"
"""An example number of 49 CFR 565 whose check digit is X."""
OTHER = "1M8GDM9AXKP042789"


def vehicle(typed: str = VIN, read: str | None = VIN, scanned: str = "") -> Job:
    job = Job(vehicle={"vin": typed, "vin-scanned": scanned})
    if read is not None:
        job.exchange("identification", "22F190", 5, "62F190" + read.encode().hex().upper())
    return job


def another_bay(job: Job) -> Job:
    """The job goes on at another machine, four seconds later by what its clock says."""
    job.reboot().add("moved", {"count": 2, "head": "00" * 32, "origin": "bay2"}, 9)
    return job


def answered_by_another(number: str) -> Job:
    """Return a job in which an answer that was not meant for our request gives a number."""
    job = Job(vehicle={"vin": VIN})
    reply = bodies.Answer(
        source="7E8",
        payload="62F190" + number.encode().hex().upper(),
        verdict="foreign",
        first_mono="1",
        last_mono="1",
    )
    job.exchange("identification", "22F190", 5, "")
    body = bodies.from_body("exchange", job.entries()[-1].body)
    job.add("exchange", msgspec.structs.replace(body, answers=(reply,)), 5)
    return job


def opened_after_closing(**closing: object) -> Job:
    """Return a job in which the closing before the second opening was entered after it."""
    job = Job(u=0.2).open("rr", "p1", 10).open("rl", "p2", 31)
    return job.close("rr", 20, "p1", **closing)


def cleared(*acts: tuple[str, list[str], float] | float) -> Job:
    """Return a visit with scans, and codes that a person says were cleared at these times."""
    job = visited()
    for act in acts:
        if isinstance(act, tuple):
            job.scan(*act)
        else:
            job.step("codes-cleared", act, "codes-cleared")
    return job


def heard_clearing(answer: str) -> Job:
    """Return a visit with a scan before and after another tester asked to clear the codes and was answered so."""
    job = visited().scan("after", [], 200).exchange("clear", "14FFFFFF", 210, answer)
    return job.scan("after", [], 220)


def nudged(by: float, times: int) -> Job:
    """Return a job in which the wall clock was set so many times by a little, an entry after each."""
    job = Job()
    for index in range(times):
        job.set_clock(by).step("x", 5.0 + index)
    return job


def told_afterwards() -> Job:
    """Return a job with a run that a person told when it was long over."""
    job = Job(grade="told")
    one = bodies.Intent(
        pass_id="p1", nipples=("rr",), wire_command="pump", seconds="20", start="", stop="", peer={}, grade="told"
    )
    job.add("intent", one, 10, u=1, by=TECHNICIAN, basis="typed", entered=500)
    return job


@pytest.mark.parametrize(
    ("number", "job", "answer", "text"),
    [
        (1, vehicle(), "met", "the control unit gives the same"),
        (1, vehicle(typed=VIN.lower()), "met", ""),
        (1, vehicle(scanned=VIN), "met", ""),
        (1, vehicle(read=OTHER), "not met", f"{OTHER} is not {VIN}"),
        (1, vehicle(scanned=OTHER), "not met", "scanned"),
        (1, vehicle(typed=OTHER, read=OTHER), "met", "check digit does not fit"),
        (1, vehicle(read=None), "no proof", "no control unit gave"),
        (1, vehicle(read=17 * " "), "no proof", "no control unit gave"),
        (1, vehicle(typed="1M8G DM9A-XKP0 42788"), "met", ""),
        (1, answered_by_another(VIN), "no proof", "no control unit gave"),
        (1, answered_by_another(OTHER), "no proof", "no control unit gave"),
        (1, vehicle(typed=""), "no proof", "typed or scanned; control unit 7A8 gives"),
        (27, visited().scan("after", [], 200), "met", "no code is left"),
        (
            27,
            whole().scan("before", ["C1234-56"], 1).open("fl", "p4", 9).close("fl", 20).scan("after", [], 99),
            "met",
            "",
        ),
        (27, Job(edit(('control_unit = "brake control unit"', ""))), "does not apply", "no control unit whose codes"),
        (
            27,
            cleared(("after", ["C1234-56"], 200), 210, ("after", [], 220)),
            "met",
            "gone: C1234-56; codes were",
        ),
        (
            27,
            cleared(("after", [], 200), 210, ("after", [], 220)),
            "met",
            "no code; codes were cleared in entry 4 (",
        ),
        (
            27,
            cleared(("after", ["C1234-56"], 200), 210, ("after", ["C1234-56"], 220)),
            "not met",
            "found: C1234-56; codes",
        ),
        (27, cleared(("after", [], 200), 210), "no proof", "after the last scan, and nobody scanned again"),
        (27, cleared(210, ("after", [], 220)), "no proof", "before they were read: which there were is not known"),
        (27, cleared(("before", ["C1234-56"], 50), 210, ("after", [], 220)), "no proof", "which the work left"),
        (
            27,
            whole()
            .scan("before", ["C1234-56"], 1)
            .step("c", 5, "codes-cleared")
            .open("fl", "p4", 9)
            .close("fl", 20)
            .scan("after", [], 99),
            "met",
            "gone: C1234-56; codes were cleared in entry 2 (said by t-otter)",
        ),
        (27, heard_clearing("54"), "met", "(heard on the wire)"),
        (27, heard_clearing("7F1422"), "met", "no code"),
        (27, visited().scan("after", ["C1B41-54"], 200), "met", "set by the work itself: C1B41-54"),
        (27, visited().scan("after", ["C1234-56"], 200), "not met", "found: C1234-56"),
        (
            27,
            whole().scan("before", ["C1234-56"], 1).scan("after", ["C1234-56"], 9),
            "not met",
            "there before the work",
        ),
        (
            27,
            whole().scan("before", ["C1B41-54"], 1).open("fl", "p4", 9).close("fl", 20).scan("after", ["C1B41-54"], 99),
            "met",
            "itself sets; brake control unit: no other code; there before the work and still there: C1B41-54, which",
        ),
        (
            27,
            whole()
            .scan("before", ["C1B41-54", "C1234-56"], 1)
            .step("c", 5, "codes-cleared")
            .open("fl", "p4", 9)
            .close("fl", 20)
            .scan("after", ["C1B41-54"], 99),
            "met",
            "gone: C1234-56; set by the work itself: C1B41-54; codes were cleared",
        ),
        (27, whole().scan("before", [], 1).scan("after", ["U0100-00"], 9), "not met", "new: U0100-00"),
        (27, whole().scan("after", [], 1).open("fl", "p4", 9).close("fl", 20), "no proof", "before the last nipple"),
        (27, whole().scan("before", [], 1), "no proof", "no scan"),
        (27, whole().scan("before", [], 1).scan("after", [], 200), "no proof", "any nipple was closed"),
        (27, visited().scan("after", [], 200).open("fl", "p4", 210), "no proof", "no entry closes"),
        (28, clean(), "met", "entries by hand"),
        (28, Job().open("rr", "p1", 10, entered=60), "met", ""),
        (28, Job().open("rr", "p1", 10, entered=72), "not met", "61.0 to 63.0 s after"),
        (28, Job().open("rr", "p1", 10, basis="typed", entered=20), "not met", "entered afterwards"),
        (
            28,
            Job().open("rr", "p1", 10).close("rr", 11).open("rl", "p2", 12).close("rl", 13),
            "no proof",
            "4 entries within 3.0 s",
        ),
        (28, Job().open("rr", "p1", 10).close("rr", 11).open("rl", "p2", 12).close("rl", 13.1), "met", ""),
        (28, Job().open("rr", "p1", 10, entered=71), "no proof", "60.0 to 62.0 s after"),
        (28, Job().open("rr", "p1", 100, entered=10), "not met", "before it happened"),
        (28, Job(grade="told").run("p1", 10, 30), "met", "no 4 within 3 s"),
        (28, told_afterwards(), "not met", "entered afterwards"),
        (28, Job(), "no proof", "no entry by hand"),
        (29, clean(), "met", "agree"),
        (29, Job().step("x", 5).set_clock(10).step("y", 6), "not met", "set on by 10.0 s"),
        (29, Job().step("x", 5).set_clock(-10).step("y", 6), "not met", "set back by 10.0 s"),
        (29, nudged(0.4, 1), "met", "agree"),
        (
            29,
            nudged(0.4, 4),
            "not met",
            "entries 0 and 4: wall time moved on by 1.6 s against the monotonic clock, in sm",
        ),
        (29, nudged(-0.3, 2), "not met", "moved back by 0.6 s"),
        (29, nudged(0.4, 1).set_clock(-0.4).step("y", 90).set_clock(0.4).step("z", 99), "met", "agree"),
        (29, nudged(0.4, 1).set_clock(9).step("y", 90).set_clock(0.4).step("z", 99), "not met", "set on by 9.0 s"),
        (29, nudged(0.4, 1).reboot().step("y", 90).set_clock(0.4).step("z", 99), "no proof", "started again"),
        (29, Job().step("x", 5).reboot().step("y", 100), "no proof", "started again"),
        (29, Job().step("x", 5).sleep(100).step("y", 200), "met", "slept"),
        (29, Job(), "no proof", "one entry"),
        (29, another_bay(Job().step("x", 5)).step("y", 100), "met", "within each bay the clocks agree"),
        (29, another_bay(Job().step("x", 5)), "no proof", "one entry cannot show a step"),
        (29, another_bay(Job().step("x", 5).set_clock(-60)).step("y", 9), "not met", "56.0 s earlier"),
        (29, another_bay(Job().step("x", 5).set_clock(9).step("z", 6)).step("y", 100), "not met", "set on by 9.0 s"),
        (29, another_bay(Job().step("x", 5)).step("y", 50).set_clock(9).step("z", 60), "not met", "set on by 9.0 s"),
        (29, another_bay(Job().step("x", 5)).step("y", 50).reboot().step("z", 60), "no proof", "started again"),
        (31, clean(), "met", "nobody was"),
        (31, Job(u=0.2).open("rr", "p1", 10).close("rr", 20, "p1").open("rl", "p2", 21), "not met", "0.6 to 1.4 s"),
        (
            31,
            Job(u=0.2).open("rr", "p1", 10).close("rr", 20, "p1").open("rl", "p2", 21, by="person:l-heron"),
            "no proof",
            "no one went",
        ),
        (31, Job(u=2).open("rr", "p1", 10).close("rr", 20, "p1").open("rl", "p2", 21), "no proof", "0.0 to 5.0 s"),
        (31, opened_after_closing(basis="typed", entered=400, u=0), "met", ""),
        (31, opened_after_closing(basis="typed", entered=400, u=100), "no proof", ""),
        (31, Job().open("rr", "p1", 10).close("rr", 20, "p1"), "no proof", "no one went"),
        (31, Job(scope="nipples rr").open("rr", "p1", 10).close("rr", 20, "p1"), "does not apply", "one nipple only"),
        (37, clean().state("finished", 700).state("released", 705, by="person:l-heron"), "met", "released by l-heron"),
        (37, clean().state("finished", 700), "no proof", "no entry releases"),
        (37, clean().state("released", 705), "no proof", "no entry says that the job was finished"),
        (
            37,
            clean().state("finished", 700).state("open", 702).state("released", 705),
            "not met",
            "while it was open",
        ),
        (
            37,
            clean().state("finished", 700).state("released", 705).open("rr", "p1", 800),
            "not met",
            "worked on afterwards",
        ),
        (
            37,
            clean().state("finished", 700).state("released", 705).step("witnessed-as", 800, act="confirmed"),
            "met",
            "released by",
        ),
        (37, clean().state("finished", 700).state("released", 705).state("paused", 710), "not met", "paused again"),
        (37, clean().state("finished", 1).state("released", 705, by="machine:runner"), "not met", "no person"),
    ],
)
def test_record(number: int, job: Job, answer: str, text: str) -> None:
    finding = ask(number, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def read(**more: object) -> Job:
    return Job().read("torque", "9 N.m", 10, **more)


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (read(instrument="wrench 3", extra={"calibrated_until": "2026-01-31"}), "met", "in date"),
        (read(instrument="wrench 3", extra={"calibrated_until": "2025-06-14"}), "not met", "out of calibration"),
        (read(instrument="wrench 3", extra={"calibrated_until": "2025-06-16"}), "met", ""),
        (
            read(instrument="wrench 3", extra={"calibrated_until": "2025-06-15"}),
            "no proof",
            "when its calibration ended",
        ),
        (
            read(instrument="w", extra={"calibrated_until": "2025-06-17"}, basis="typed", entered=5 * 86_400.0),
            "met",
            "in date",
        ),
        (read(instrument="w", extra={"calibrated_until": "2025-06-17"}, entered=5 * 86_400.0), "not met", ""),
        (read(instrument="wrench 3", extra={"calibrated_until": "soon"}), "no proof", "nobody recorded until when"),
        (read(instrument="wrench 3"), "no proof", "nobody recorded until when"),
        (read(), "no proof", "no instrument named"),
        (Job().read("level", "5 mm", 10), "met", "named"),
        (Job().step("x", 5, by="machine:runner"), "no proof", "1 entry by hand without a person's name"),
        (Job(protocol_map=None).step("x", 5), "no proof", "no digest of a map"),
        (Job(), "no proof", "no entry by hand"),
    ],
)
def test_who(job: Job, answer: str, text: str) -> None:
    finding = ask(32, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def by_second(*people: str) -> Job:
    """Return a job whose second step asks for a second person; its steps are by these people."""
    steps = """
[[steps_before]]
id = "one"
text = "Chock"
[[steps_before]]
id = "two"
text = "Hold the pedal"
person = "second"
[[steps_before]]
id = "three"
text = "Look"

[pump]"""
    job = Job(edit(("[pump]", steps)))
    for name, who in zip(("one", "two", "three"), people, strict=False):
        job.step(name, 5, by=f"person:{who}")
    return job


@pytest.mark.parametrize(
    ("people", "answer", "text"),
    [
        (("otter", "heron", "otter"), "met", "by heron, a second person"),
        (("heron", "otter"), "met", "by otter, a second person"),
        (("otter", "otter", "heron"), "no proof", "asked of a second person, and by otter like the step beside it"),
    ],
)
def test_a_step_of_a_second_person_is_by_another_than_the_step_beside_it(
    people: tuple[str, ...], answer: str, text: str
) -> None:
    finding = ask(32, by_second(*people))
    assert (finding.answer, [one.text for one in finding.details if one.subject == "Hold the pedal"]) == (
        answer,
        [text],
    )


def two_people(*ready: float, by: str = "person:l-heron") -> Job:
    """Return a run for two people at 20 s, with somebody ready at the wheel at these times."""
    procedure = edit(('nipples = ["rr"]', 'nipples = ["rr"]\ntwo_people = true'))
    job = Job(procedure, scope="nipples rr").step("x", 1)
    for at in ready:
        job.step("ready-at-wheel", at, act="confirmed", pass_id="p1", by=by, u=0)
    return job.run("p1", 20, 40, started_by="person:t-otter")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (two_people(15), "met", "a second person was ready"),
        (two_people(), "no proof", "no entry of a second person"),
        (two_people(15, by="person:t-otter"), "no proof", "no entry of a second person"),
    ],
    ids=["ready", "nobody", "the first person said it"],
)
def test_two_people(job: Job, answer: str, text: str) -> None:
    finding = ask(32, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def test_a_digest_that_is_not_that_of_the_copy_is_not_met() -> None:
    job = Job().step("x", 5)
    first = job.entries()[0]
    first.body["procedure_digest"] = "11" * 32
    assert "not that of the copy" in ask(32, job).text


def test_a_map_that_is_not_the_one_of_its_digest_is_not_met() -> None:
    job = Job().step("x", 5)
    job.entries()[0].body["map_digest"] = "11" * 32
    finding = ask(32, job)
    assert (finding.answer, "protocol map: its digest is not" in finding.text) == ("not met", True), finding


def test_a_number_that_is_read_before_every_run_is_one_line_that_cites_each_reading() -> None:
    job = vehicle()
    for at in (20, 40):
        job.exchange("identification", "22F190", at, "62F190" + VIN.encode().hex().upper())
    found = ask(1, job)
    read = [one for one in found.details if one.subject.startswith("control unit")]
    assert [one.answer for one in read] == ["met"] and len(read[0].cites) == 3


def test_that_no_entry_releases_the_job_names_the_end_of_the_record_beside_its_last_state() -> None:
    job = clean().state("finished", 700)
    stands = job.last()
    found = ask(37, job.step("note-to-self", 720))
    assert found.text == f"no entry releases the job, up to the last (entry {stands + 1})"
    assert found.cites == (stands,)
