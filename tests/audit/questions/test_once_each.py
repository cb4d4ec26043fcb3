"""Questions about steps done by hand: each of their answers from a small timeline."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from tests.audit.jobs import TECHNICIAN, Job, edit
from tests.audit.procedures import STEPS, visited, whole
from tests.audit.shipped import ask

from witnessmark.journal import bodies
from witnessmark.procedure.mending import BLED, NOTHING, REPLACED, TIGHTENED

PLAIN = Job(scope="nipples fl")
NO_FEED = edit(
    ('pressure_limit = { low = "1.5 bar", high = "2.5 bar" }', ""),
    ('pressure = { low = "1.8 bar", high = "2.2 bar" }', ""),
    ('pressure_age = "60 s"', ""),
)


def done(job: Job, *steps: tuple[str, str, float]) -> Job:
    for step, affects, at in steps:
        job.step(step, at, affects, act="skipped" if step.startswith("no ") else "done", said="why", pass_id="")
    return job


TWO_SAFE = edit(
    (
        "[pump]",
        """
[[steps_before]]
id = "safe"
text = "Set supports"
affects = "made-safe"

[[steps_before]]
id = "high-voltage"
text = "High voltage off"
affects = "made-safe"

[pump]""",
    )
)
TWO_LOOKS = edit(
    (
        "[pump]",
        """
[[steps_after]]
id = "leaks"
text = "Look for leaks"
affects = "leak-check"

[[steps_after]]
id = "again"
text = "Look again"
affects = "leak-check"

[pump]""",
    )
)


def levelled() -> Job:
    """Return a job whose level was right at 210 s, after the pedal was pumped."""
    return visited().step("pump", 200, "pedal-pumped").read("level", "500 mL", 210, step="level")


def wheels(before: str, *after: str) -> Job:
    """Return a job with a wheel torque before front left was opened, where given, and these after it was closed."""
    job = whole().read("wheel-torque", before, 50, step="wheels") if before else whole()
    job.open("fl", "p4", 100).close("fl", 130, "p4")
    for index, torque in enumerate(after):
        job.read("wheel-torque", torque, 210 + 5 * index, step="wheels")
    return job.step("refit", 240, "refitted")


def put_right(mended: str, *after: str, of: str = "wheels") -> Job:
    """Return a job whose wheels were read too loose; then it was said what was mended; then they were read again."""
    job = visited().read("wheel-torque", "150 N.m", 200, step="wheels")
    job.step("put-right", 205, act="confirmed", answer=of, mended=mended)
    for index, torque in enumerate(after):
        job.read("wheel-torque", torque, 210 + 5 * index, step="wheels")
    return job.step("refit", 240, "refitted")


def two_looks() -> Job:
    return Job(TWO_LOOKS, scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")


def at_intake() -> Job:
    """Return a visit before which the level was read as a step of the intake."""
    intake = (
        '[[steps_before]]\nid = "level-before"\ntext = "Level"\nact = "read"\nwhat = "level"\nunit = "mL"\n\n[pump]'
    )
    job = Job(edit(("[pump]", f"{STEPS}{intake}")), scope="nipples fl").read("level", "500 mL", 5, step="level-before")
    return job.open("fl", "p4", 100).close("fl", 130, "p4")


def leaked() -> Job:
    """Return a job whose nipple was torqued at 140 s, road tested, and that leaked when it was looked at at 200 s."""
    job = (
        visited().read("torque", "9 N.m", 140, step="torque", pass_id="p4", nipple="fl").step("road", 190, "road-test")
    )
    return job.step("leaks", 200, "leak-check", act="skipped", said="it leaks", looked=True)


def tightened(step: str, nipple: str) -> Job:
    """Return the job that leaked with one more torque before a yes at 206 s."""
    job = leaked().read("torque", "9 N.m", 203, step=step, pass_id="p4", nipple=nipple)
    return job.step("leaks", 206, "leak-check", act="confirmed")


def mended(job: Job, what: str, at: float, own: str = "", **place: str) -> Job:
    """Return the job with what was mended, in words of the list or in own ones, and where if that is given."""
    job.step("mended", at, act="confirmed", answer=what, mended=own)
    return job.step("mended-at", at + 1, act="confirmed", **place) if place else job


def checked(job: Job, at: float = 250) -> Job:
    return job.step("leaks", at, "leak-check", act="confirmed").step("road", at + 10, "road-test")


def bled_again(job: Job) -> Job:
    """Return the job with what had run out read, its nipple opened and closed once more, and read what ran out then."""
    job.read("volume", "110 mL", 215, pass_id="p4", nipple="fl")
    return job.open("fl", "p4", 220).close("fl", 230, "p4").read("volume", "110 mL", 235, pass_id="p4", nipple="fl")


ONE = {"answer": "one"}


def let_off(job: Job) -> Job:
    return job.depressurise(200).step("off", 210, "feed-off")


def read_after(amount: str, **limits: str) -> Job:
    """Return a job whose feed was read between letting it off and taking it off."""
    job = visited().pressurise(1).depressurise(200).read("feed-pressure", amount, 205, **limits)
    return job.step("off", 210, "feed-off")


LEAKS, ROAD = ("leaks", "leak-check"), ("road", "road-test")
SAFE, ON, OFF = ("safe", "made-safe"), ("service-on", "service-mode-on"), ("service-off", "service-mode-off")


@pytest.mark.parametrize(
    ("number", "job", "answer", "text"),
    [
        (24, Job(NO_FEED, scope="nipples fl"), "does not apply", "uses no feed"),
        (24, PLAIN, "no proof", "no entry says that the feed was taken off"),
        (24, visited(), "no proof", "no entry says that the feed was taken off"),
        (24, visited().pressurise(1).depressurise(200).step("off", 210, "feed-off"), "met", "let off before"),
        (24, visited().pressurise(1).step("off", 210, "feed-off"), "no proof", "under pressure, and no entry"),
        (
            24,
            visited().pressurise(1).depressurise(200, act="skipped", said="in a hurry").step("off", 210, "feed-off"),
            "not met",
            "left out: in a hurry",
        ),
        (
            24,
            visited()
            .pressurise(1)
            .depressurise(200, act="skipped", said="it hisses", looked=True)
            .step("off", 210, "feed-off"),
            "not met",
            "letting it off was looked at, and not right: it hisses",
        ),
        (24, visited().step("off", 210, "feed-off"), "no proof", "no entry says that its pressure"),
        (24, let_off(visited().pressurise(1).step("more", 190, "refill")), "no proof", "under pressure, and no entry"),
        (
            24,
            let_off(visited().pressurise(1).depressurise(180).step("more", 190, "refill").pressurise(195)),
            "met",
            "let off before",
        ),
        (24, let_off(visited().step("fill", 1, "refill").pressurise(20)), "met", "let off before"),
        (24, read_after("0.01 bar"), "met", "let off before"),
        (24, read_after("0.1 bar"), "met", "let off before"),
        (24, read_after("0.2 bar"), "no proof", "read as 0.2 bar before it came off"),
        (24, read_after("0.05 bar", high="0.02 bar"), "no proof", "read as 0.05 bar before it came off"),
        (24, let_off(visited().pressurise(1)).read("feed-pressure", "0.01 bar", 220), "met", "let off before"),
        (
            24,
            visited().pressurise(1).depressurise(230, entered=200).step("off", 210, "feed-off"),
            "not met",
            "afterwards",
        ),
        (
            26,
            done(visited(), (*LEAKS, 200), (*ROAD, 210)).step("leaks", 220, "leak-check", act="skipped", said="wet"),
            "not met",
            "done, and it was not so when it was looked at last: wet",
        ),
        (
            26,
            done(visited(), (*ROAD, 210)).step("leaks", 220, "leak-check", act="skipped", said="wet", looked=True),
            "not met",
            "looked at, and not right: wet",
        ),
        (
            26,
            done(visited().step("leaks", 190, "leak-check", act="skipped", said="wet"), (*LEAKS, 200), (*ROAD, 210)),
            "met",
            "at the end",
        ),
        (
            26,
            leaked().step("leaks", 206, "leak-check", act="confirmed"),
            "no proof",
            "not right: it leaks (15:10:00Z, entry 5); no entry says what was mended between; "
            "then yes (15:10:06Z, entry 6), 4.0 to 8.0 s after",
        ),
        (
            26,
            checked(mended(leaked(), TIGHTENED, 204, nipple="fl")),
            "met",
            "it leaks (15:10:00Z, entry 5); t-otter says what was mended: tightened and wiped dry, at front left; "
            "then yes (15:10:50Z, entry 8), 48.0 to 52.0 s after",
        ),
        (26, mended(leaked(), TIGHTENED, 204, nipple="fl").step("leaks", 250, "leak-check"), "no proof", "Road test"),
        (26, checked(mended(leaked(), "", 204, "a clip bent back", answer="none")), "met", "no circuit opened for it"),
        (
            26,
            checked(mended(leaked(), "", 204, "a hose renewed")),
            "no proof",
            "not said of which circuit; circuit one",
        ),
        (26, checked(mended(leaked(), REPLACED, 204)), "no proof", "circuit one and two not bled after that"),
        (26, checked(mended(leaked(), REPLACED, 204, **ONE)), "no proof", "circuit one; circuit one not bled after"),
        (26, checked(mended(leaked(), REPLACED, 204, answer="not known")), "no proof", "one and two not bled"),
        (26, checked(mended(bled_again(leaked()), REPLACED, 240, **ONE)), "no proof", "circuit one not bled after"),
        (
            26,
            checked(bled_again(mended(leaked(), REPLACED, 204, **ONE))),
            "no proof",
            "circuit one; rear right not bled",
        ),
        (26, checked(bled_again(mended(leaked(), REPLACED, 204, nipple="fl"))), "met", "bled after that: entries 9-11"),
        (
            26,
            checked(bled_again(mended(leaked(), REPLACED, 204, nipple="rr"))),
            "no proof",
            "at rear right; rear right",
        ),
        (26, checked(bled_again(mended(leaked(), REPLACED, 204, answer="two"))), "no proof", "circuit two not bled"),
        (26, checked(mended(bled_again(leaked()), BLED, 240)), "met", "bled again; bled after it: entries 7-9"),
        (26, checked(mended(leaked(), BLED, 204)), "no proof", "no entries show a circuit bled between"),
        (26, checked(mended(leaked(), NOTHING, 204)), "no proof", "the first look was wrong"),
        (
            26,
            leaked().step("leaks", 206, "leak-check", act="confirmed", mended="words that nobody can judge"),
            "no proof",
            "words that nobody can judge; no entries show a circuit bled between",
        ),
        (26, tightened("torque", "fl"), "met", "done between: entry 6"),
        (26, tightened("torque", "rr"), "no proof", "no entry says what was mended"),
        (26, done(leaked(), ("pump", "pedal-pumped", 203), (*LEAKS, 206)), "no proof", "no entry says what was mended"),
        (26, done(leaked(), (*ROAD, 203), (*LEAKS, 206)), "no proof", "no entry says what was mended"),
        (
            26,
            leaked().read("level", "500 mL", 203, step="level").step("leaks", 206, "leak-check"),
            "no proof",
            "mended",
        ),
        (
            26,
            leaked()
            .open("fl", "p4", 210)
            .close("fl", 230, "p4")
            .step("leaks", 250, "leak-check")
            .step("road", 260, "road-test"),
            "met",
            "done between: entries 6 7",
        ),
        (26, whole().open("fl", "p4", 100), "no proof", "Look for leaks and Road test: no entry"),
        (25, at_intake(), "no proof", "no reading of the level at the end; before the work it was 500 mL"),
        (25, at_intake().read("level", "510 mL", 210, step="level"), "no proof", "510 mL, asked 400 mL to 600 mL; no"),
        (26, leaked(), "not met", "looked at, and not right: it leaks"),
        (26, PLAIN, "does not apply", "no leak check"),
        (26, done(visited(), (*LEAKS, 200), (*ROAD, 210)), "met", "at the end"),
        (26, done(visited(), (*LEAKS, 200)), "no proof", "Road test: no entry"),
        (26, done(visited(), (*LEAKS, 200), ("no road", "road-test", 210)), "not met", "left out: why"),
        (26, done(whole(), (*LEAKS, 50), (*ROAD, 60)).open("fl", "p4", 100).close("fl", 130), "no proof", "not after"),
        (26, done(whole(), (*LEAKS, 50)), "no proof", "any nipple was closed"),
        (36, PLAIN, "does not apply", "no step that makes safe"),
        (
            36,
            done(done(whole(), (*SAFE, 1), (*ON, 2)).open("fl", "p4", 100).close("fl", 130), (*OFF, 200)),
            "met",
            "service modes left",
        ),
        (
            36,
            done(whole(), (*SAFE, 1), (*ON, 2)).open("fl", "p4", 100).close("fl", 130),
            "no proof",
            "Leave the service",
        ),
        (
            36,
            done(
                visited(),
                (*SAFE, 150),
                (
                    *ON,
                    2,
                ),
                (*OFF, 200),
            ),
            "not met",
            "not before the first nipple",
        ),
        (36, done(whole(), (*SAFE, 1), (*ON, 2)), "no proof", "any nipple was opened"),
        (34, PLAIN, "does not apply", "nothing to be put back"),
        (
            34,
            visited().step("refit", 200, "refitted").read("wheel-torque", "180 N.m", 210, step="wheels"),
            "met",
            "put back",
        ),
        (34, visited().step("refit", 200, "refitted"), "no proof", "Torque the wheels: no entry"),
        (
            34,
            visited().step("refit", 200, "refitted").read("wheel-torque", "150 N.m", 210, step="wheels"),
            "not met",
            "150 N.m, asked 170 N.m to 190 N.m",
        ),
        (34, whole().step("refit", 10, "refitted"), "no proof", "any nipple was closed"),
        (34, wheels("150 N.m", "180 N.m"), "met", "put back"),
        (34, wheels("", "150 N.m", "180 N.m"), "no proof", "a slip, or another wheel"),
        (34, wheels("", "150 N.m", "155 N.m"), "not met", "150 N.m"),
        (34, put_right("tightened", "180 N.m"), "met", "otter says what was put right: tightened (entry 4)"),
        (34, put_right("tightened", "180 N.m"), "met", "then read as 180 N.m"),
        (34, put_right("tightened", "155 N.m"), "not met", "150 N.m"),
        (34, put_right("", "180 N.m"), "not met", "150 N.m"),
        (34, put_right("tightened", "180 N.m", of="level"), "not met", "150 N.m"),
        (34, put_right("tightened", "180 N.m", "150 N.m"), "not met", "150 N.m"),
        (33, PLAIN, "does not apply", "nowhere"),
        (33, visited().step("clear", 128, "clear", pass_id="p4", nipple="fl"), "met", "clear"),
        (33, visited(), "no proof", "no entry"),
        (33, visited().step("clear", 128, "clear", pass_id="p4", act="skipped", said="dark"), "not met", "dark"),
        (
            33,
            whole().step("clear", 50, "clear", pass_id="p4").open("fl", "p4", 100),
            "no proof",
            "not after it was opened",
        ),
        (33, whole(), "no proof", "no entry says that it was opened"),
        (25, PLAIN, "does not apply", "no level"),
        (25, visited().step("pump", 200, "pedal-pumped").read("level", "500 mL", 210, step="level"), "met", "500 mL"),
        (25, visited(), "no proof", "no reading"),
        (25, visited().step("pump", 200, "pedal-pumped").read("level", "300 mL", 210), "not met", "300 mL, asked 400"),
        (25, visited().read("level", "500 mL", 205).step("pump", 230, "pedal-pumped"), "no proof", "not after"),
        (25, visited().read("level", "500 mL", 205), "no proof", "pedal was pumped"),
        (25, whole().read("level", "500 mL", 205), "no proof", "any nipple was closed"),
        (25, whole().read("level", "300 mL", 1).open("fl", "p4", 100).close("fl", 130), "no proof", "not after"),
        (25, levelled().read("volume-in", "100 mL", 220).read("level", "500 mL", 230, step="level"), "met", "500 mL"),
        (25, levelled().step("pump", 220, "pedal-pumped"), "no proof", "not after"),
        (25, levelled().read("volume-in", "100 mL", 220), "no proof", "last filled in or drawn off"),
        (25, levelled().open("fl", "p4", 230), "no proof", "no entry closes front left"),
        (26, done(visited(), (*LEAKS, 200), (*ROAD, 210)).open("fl", "p4", 220), "no proof", "no entry closes"),
        (26, done(two_looks(), ("leaks", "leak-check", 200)), "no proof", "Look again: no entry"),
        (26, done(two_looks(), (*LEAKS, 200), ("again", "leak-check", 210)), "met", ""),
        (36, done(Job(TWO_SAFE).close("fl", 20, "p4"), (*SAFE, 1)), "no proof", "when front left was opened"),
        (36, done(Job(TWO_SAFE), (*SAFE, 1)).open("fl", "p4", 100).close("fl", 130), "no proof", "High voltage off"),
        (33, visited().step("clear", 128, "clear", pass_id="p4").open("fl", "p4", 140), "no proof", "not after"),
        (33, visited().step("clear", 128, "clear"), "no proof", "no entry"),
    ],
)
def test_what_hands_did(number: int, job: Job, answer: str, text: str) -> None:
    finding = ask(number, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding


def torqued(job: Job, amount: str = "9 N.m", at: float = 140) -> Job:
    return job.read("torque", amount, at, pass_id="p4", step="torque", nipple="fl")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (torqued(visited()).step("cap", 150, "capped", pass_id="p4"), "met", "torqued within its limits"),
        (
            torqued(visited(), "12 N.m").step("cap", 150, "capped", pass_id="p4"),
            "not met",
            "12 N.m, asked 8 N.m to 10 N.m",
        ),
        (torqued(visited(), "80 lbf.ft").step("cap", 150, "capped", pass_id="p4"), "not met", "80 lbf.ft"),
        (visited().step("cap", 150, "capped", pass_id="p4"), "no proof", "no torque read"),
        (torqued(visited()), "no proof", "cap: no entry"),
        (torqued(visited()).step("cap", 150, "capped", pass_id="p4", act="skipped", said="lost"), "not met", "lost"),
        (
            visited().step("torque", 140, act="skipped", said="no wrench", pass_id="p4").step("cap", 150, "capped"),
            "not met",
            "no wrench",
        ),
        (
            torqued(whole(), at=50).open("fl", "p4", 100).close("fl", 130, "p4").step("cap", 150, "capped"),
            "no proof",
            "no torque",
        ),
        (whole(), "no proof", "no entry says that it was closed"),
        (
            torqued(visited()).step("cap", 150, "capped", pass_id="p4").open("fl", "p4", 200).close("fl", 230, "p4"),
            "no proof",
            "no torque read after it was closed",
        ),
        (
            torqued(visited()).step("cap", 150, "capped", pass_id="p4").open("fl", "p4", 200),
            "no proof",
            "no entry says that it was closed",
        ),
        (
            torqued(visited()).step("cap", 150, "capped", pass_id="p4").open("rr", "p1", 200).close("rr", 230, "p1"),
            "no proof",
            "p1, rear right",
        ),
        (torqued(visited()).step("cap", 150, "capped"), "no proof", "cap: no entry"),
    ],
    ids=[
        "both",
        "too tight",
        "too tight in another unit",
        "no torque",
        "no cap",
        "cap left out",
        "torque left out",
        "torqued before",
        "not closed",
        "opened again",
        "opened again and not closed",
        "another one opened besides",
        "capped, and nobody said which",
    ],
)
def test_torque_and_cap(job: Job, answer: str, text: str) -> None:
    finding = ask(23, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding


def test_what_a_person_says_was_mended_counts_for_each_word_of_the_touch() -> None:
    both = '[[steps_after]]\nid = "leaks"\ntext = "Dry, and the pedal firm?"\nact = "check"\naffects = "leak-check"\n'
    job = Job(edit(("[pump]", f'{both}also = ["pedal-check"]\n\n[pump]')), scope="nipples fl")
    job.open("fl", "p4", 100).close("fl", 130, "p4")
    job.step("leaks", 200, "leak-check", act="skipped", said="soft", looked=True)
    mended(job, "", 250, "a clip bent back", answer="none")
    yes = bodies.StepDone(step="leaks", act="confirmed", affects="leak-check", also=("pedal-check",))
    job.add("step", yes, 300, u=1, by=TECHNICIAN, basis="touch")
    finding = ask(26, job)
    assert (finding.answer, "no entry says" in finding.text) == ("met", False), finding.text


def tightened_at(*readings: tuple[str, float], **place: str) -> Job:
    """Return a job of two nipples in which one leaked and was tightened, with torques of the front left one after."""
    job = Job(scope="nipples fl,rr").open("rr", "p1", 50).close("rr", 60, "p1")
    job.read("torque", "9 N.m", 70, step="torque", pass_id="p1", nipple="rr").open("fl", "p4", 100)
    job.close("fl", 130, "p4").read("torque", "9 N.m", 140, step="torque", pass_id="p4", nipple="fl")
    mended(job.step("leaks", 200, "leak-check", act="skipped", said="it leaks", looked=True), TIGHTENED, 210, **place)
    for torque, at in readings:
        job.read("torque", torque, at, step="torque", pass_id="p4", nipple="fl")
    return job


@pytest.mark.parametrize(
    ("job", "left"),
    [
        (tightened_at(nipple="fl"), {"p4, front left": "no torque read after it was tightened again"}),
        (tightened_at(("9 N.m", 220), nipple="fl"), {}),
        (tightened_at(("5 N.m", 220), nipple="fl"), {"p4, front left": "5 N.m, asked 8 N.m to 10 N.m"}),
        (tightened_at(answer="none"), {}),
        (
            tightened_at(("9 N.m", 220)),
            dict.fromkeys(
                ("p1, rear right", "rear left", "front right"), "no torque read after it was tightened again"
            ),
        ),
        (
            tightened_at(answer="not known"),
            dict.fromkeys(
                ("p1, rear right", "p4, front left", "rear left", "front right"),
                "no torque read after it was tightened again",
            ),
        ),
        (bled_again(tightened_at(nipple="fl")), {"p4, front left": "no torque read after it was closed"}),
    ],
)
def test_a_nipple_that_was_tightened_because_it_leaked_is_torqued_again(job: Job, left: dict[str, str]) -> None:
    torques = {one.subject: one for one in ask(23, job).details if one.subject.endswith(", torque")}
    found = {name.removesuffix(", torque"): one.text for name, one in torques.items() if one.answer != "met"}
    assert found == left


@pytest.mark.parametrize(("runs", "answer"), [(True, "met"), (False, "no proof")])
def test_a_circuit_whose_pass_runs_a_wire_command_is_bled_only_with_its_run(runs: bool, answer: str) -> None:
    job = Job(edit(("[pump]", f"{STEPS}[pump]")), scope="nipples rr").open("rr", "p1", 10).run("p1", 12, 32)
    job.close("rr", 40, "p1").step("leaks", 60, "leak-check", act="skipped", said="it leaks", looked=True)
    mended(job, REPLACED, 70, nipple="rr").open("rr", "p1", 100)
    job = (job.run("p1", 102, 122) if runs else job).close("rr", 130, "p1")
    found = ask(26, checked(job, 200))
    assert found.answer == answer, found


REAR = edit(
    (
        "[pump]",
        '[[steps_after]]\nid = "rear"\ntext = "Torque the rear wheels"\nact = "read"\nwhat = "wheel-torque"\n'
        'unit = "N.m"\nlimit = { low = "80 N.m", high = "100 N.m" }\n\n'
        '[[steps_after]]\nid = "front"\ntext = "Torque the front wheels"\nact = "read"\nwhat = "wheel-torque"\n'
        'unit = "N.m"\nlimit = { low = "170 N.m", high = "190 N.m" }\n\n[pump]',
    ),
)


@pytest.mark.parametrize(
    ("readings", "answer"),
    [
        ((("front", "180 N.m"), ("rear", "90 N.m")), "met"),
        ((("front", "150 N.m"), ("mended", ""), ("rear", "90 N.m")), "not met"),
        ((("front", "150 N.m"), ("mended", ""), ("rear", "180 N.m")), "not met"),
        ((("front", "150 N.m"), ("mended", ""), ("front", "180 N.m"), ("rear", "90 N.m")), "met"),
        ((("front", "180 N.m"), ("rear", "180 N.m")), "not met"),
    ],
)
def test_each_step_of_wheels_is_judged_by_what_was_read_at_it(readings: Sequence[tuple[str, str]], answer: str) -> None:
    job = Job(REAR, scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")
    for index, (step, torque) in enumerate(readings):
        if step == "mended":
            job.step("put-right", 200 + index, act="confirmed", answer="front", mended="tightened again to its torque")
        else:
            job.read("wheel-torque", torque, 200 + index, step=step)
    found = ask(34, job)
    assert found.answer == answer, found
