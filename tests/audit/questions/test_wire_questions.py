"""Questions 19 to 22, refusals, link, voltage and session: each of their answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import PEER, Job, clean
from tests.audit.procedures import WHOLE
from tests.audit.shipped import ask

from witnessmark.journal import bodies


def rr(**more: object) -> Job:
    return Job(scope="nipples rr", **more)  # type: ignore[arg-type]


def volts(*samples: tuple[str, float]) -> Job:
    """Return a run of p1 from 10 to 30 s with these samples of the voltage around it."""
    job = Job(WHOLE, scope="nipples rr")
    for found, at in samples:
        if at <= 10:
            job.condition("voltage", found, at)
    intent = job.last() + 1
    job.run("p1", 10, 30)
    for found, at in samples:
        if at > 10:
            job.condition("voltage", found, at)
    assert job.entries()[intent].kind == "intent"
    return job


def cut_off() -> Job:
    """Return a run with its voltage read while it ran, of which nobody saw the end."""
    job = Job(WHOLE, scope="nipples rr").run("p1", 10, None, outcome=False)
    return job.condition("voltage", "12.4 V", 11)


def not_sent() -> Job:
    job = rr()
    job.add("refused", bodies.Refused(pass_id="p1", rule="moving", why="the vehicle moves"), 5)
    return job


@pytest.mark.parametrize(
    ("number", "job", "answer", "text"),
    [
        (19, clean(), "met", "nothing was refused"),
        (19, Job(scope="nipples rr,rl").run("p1", 20, 40), "no proof", "p2: no entry of a run"),
        (19, rr().run("p1", 5, None, answer="negative", code="22").run("p1", 20, 40), "met", "followed by a run"),
        (19, rr().run("p1", 5, None, answer="negative", code="22"), "not met", "22 conditionsNotCorrect"),
        (19, not_sent(), "not met", "not sent: the vehicle moves"),
        (19, not_sent().run("p1", 20, 40), "met", ""),
        (19, rr(grade="told").run("p1", 20, 40), "no proof", "told by a person"),
        (19, rr(), "no proof", "no entry"),
        (19, rr().run("p1", 20, None, answer="silence"), "no proof", "nothing says whether"),
        (19, rr().run("p1", 20, 40, leave_out="start"), "no proof", "nothing says whether"),
        (19, Job(scope="nipples fl"), "does not apply", ""),
        (20, clean(), "met", "the link held"),
        (20, Job(scope="nipples rr,rl").run("p1", 20, 40), "no proof", "p2: no entry of a run"),
        (20, rr().run("p1", 10, 30, keepalive=False), "no proof", "no entry of what kept"),
        (20, rr().run("p1", 10, 18, result="unknown", stop="unknown"), "no proof", "nobody saw it end"),
        (
            20,
            rr().run("p1", 10, 18, result="unknown", stop="unknown").event("lost", 19, actuation=1),
            "not met",
            "lost",
        ),
        (20, rr().run("p1", 10, None, outcome=False), "no proof", "no entry says by when it had ended"),
        (20, rr().run("p1", 10, None, outcome=False).event("lost", 12), "not met", "lost"),
        (20, rr().event("lost", 1).run("p1", 10, 30), "met", ""),
        (20, rr().run("p1", 10, 30, gap_s=6), "no proof", "6.0 s"),
        (20, rr(grade="told").run("p1", 10, 30), "no proof", "told"),
        (20, rr(), "no proof", "no entry"),
        (20, Job(scope="nipples fl"), "does not apply", ""),
        (22, clean(), "met", "kept alive"),
        (22, Job(scope="nipples rr,rl").run("p1", 20, 40), "no proof", "p2: no entry of a run"),
        (22, Job(scope="nipples rr,rl").run("p1", 20, 40).run("p2", 60, None, answer="silence"), "no proof", "nothing"),
        (22, rr().run("p1", 10, 30, signs=2), "no proof", "do not cover the whole run"),
        (22, rr().run("p1", 10, 30, gap_s=4.9), "met", ""),
        (22, rr().run("p1", 10, 30, signs=1), "no proof", "p1: 1 sign of life"),
        (22, rr().run("p1", 10, 30, gap_s=5), "not met", "largest gap 5.0 s, S3 5.0 s"),
        (22, rr().run("p1", 10, 30, keepalive=False), "no proof", "no entry of what kept"),
        (22, rr(grade="heard").run("p1", 10, 30), "met", "kept alive"),
        (22, rr(grade="heard").run("p1", 10, 30, gap_s=5), "no proof", "largest gap 5.0 s, S3 5.0 s"),
        (22, rr(grade="heard").run("p1", 10, 30, signs=2), "no proof", "do not cover the whole run"),
        (22, rr(grade="heard").run("p1", 10, 30, keepalive=False), "no proof", "nothing was heard of what kept"),
        (22, rr(grade="told").run("p1", 10, 30), "no proof", "nobody recorded how"),
        (22, rr(), "no proof", "no entry"),
        (22, Job(scope="nipples fl"), "does not apply", ""),
        (21, volts(("12.6 V", 8), ("12.1 V", 15), ("11.9 V", 24)), "met", "least 11.9 V, samples at most 9.0 s"),
        (21, volts(("12.6 V", 8), ("11.4 V", 15), ("12.0 V", 24)), "not met", "11.4 V while it ran"),
        (21, volts(("12.6 V", 8), ("12.1 V", 15)).read("voltage", "11.4 V", 29, u=1), "not met", "11.4 V while"),
        (21, volts(("12.6 V", 8), ("12.1 V", 15)).read("voltage", "11.4 V", 29, u=9), "no proof", "11.4 V perhaps"),
        (21, volts(("12.6 V", 8), ("12.1 V", 24)).read("voltage", "12.0 V", 16, u=1), "met", "9.0 s apart"),
        (21, volts(("12.6 V", 8), ("12.1 V", 24)).read("voltage", "12.0 V", 16, u=6), "no proof", "14.0 s apart"),
        (21, volts(("12.6 V", 8), ("12.0 V", 24)), "no proof", "16.0 s apart"),
        (21, volts(("11.0 V", 8), ("12.1 V", 15), ("12.0 V", 24)), "no proof", "11.0 V shortly before"),
        (21, volts(("not known", 8)), "no proof", "no sample"),
        (21, cut_off(), "no proof", "until when it ran"),
        (21, Job(WHOLE, scope="nipples rr"), "no proof", "no entry of a run"),
        (21, Job(WHOLE, scope="nipples fl"), "does not apply", "no pass"),
        (21, clean(), "does not apply", "no band"),
    ],
)
def test_wire(number: int, job: Job, answer: str, text: str) -> None:
    finding = ask(number, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def trial(job: Job, at: float, name: str, result: str = "completed") -> Job:
    """Add a first use of a learned wire command, refused by the control unit or run to its end."""
    intent = job.add(
        "intent",
        bodies.Intent(
            pass_id="", nipples=(), wire_command=name, seconds="4", start="31010301", stop="31020301", peer=PEER,
            learned=True, first_use=True,
        ),
        at,
    )  # fmt: skip
    refused = result == "refused"
    job._exchange("start", "31010301", at, "negative" if refused else "positive", "22", 0, intent, "")
    job._outcome(intent, "", not refused, at, at + 4, result, "not sent" if refused else "confirmed", "22")
    return job


def test_a_refused_first_use_is_called_one_and_a_run_of_the_same_follows_it_up() -> None:
    withheld = bodies.Refused(pass_id="", rule="first-use", why="no lead is present")
    job = rr()
    job.add("refused", withheld, 5)
    (detail,) = [one for one in ask(19, job).details if "lead" in one.text]
    assert (detail.subject, detail.answer) == ("first use", "not met")
    trial(job, 10, "learned")
    (detail,) = [one for one in ask(19, job).details if "lead" in one.text]
    assert (detail.subject, detail.answer) == ("first use", "met")


def test_what_a_rule_of_ours_kept_from_being_sent_was_not_refused_by_the_control_unit() -> None:
    job = rr()
    intent = job.add(
        "intent",
        bodies.Intent(
            pass_id="p1", nipples=("rr",), wire_command="pump", seconds="20", start="31010301", stop="", peer=PEER
        ),
        5,
    )
    why = "the control unit says another software"
    job.add("outcome", bodies.Outcome(actuation=intent, pass_id="p1", result="refused", stop="not sent", why=why), 5.1)
    (detail,) = ask(19, job).details
    assert (detail.answer, detail.text) == ("not met", f"not sent: {why}; it never ran afterwards")
    assert f"was not sent ({why}) and never ran" in ask(16, job).details[0].text
    (detail,) = ask(19, job.run("p1", 10, 30)).details
    assert (detail.answer, detail.text) == ("met", f"not sent: {why}; it ran afterwards")


@pytest.mark.parametrize(("then", "answer"), [("learned", "met"), ("another", "not met")])
def test_a_first_use_that_the_unit_refused_is_followed_up_by_one_of_the_same_wire_command(
    then: str, answer: str
) -> None:
    job = trial(trial(rr(), 5, "learned", "refused"), 10, then)
    (detail,) = [one for one in ask(19, job).details if "conditionsNotCorrect" in one.text]
    assert (detail.subject, detail.answer) == ("first use of learned", answer)
