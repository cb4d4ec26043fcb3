"""A run that was heard to begin, and whose end was heard after the link had been lost: one run with a part unheard."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.audit.jobs import MONO, NS, Job
from tests.audit.shipped import ask

from witnessmark.journal import bodies

Act = Callable[[Job, int], object]


def nothing(job: Job, intent: int) -> None:
    """Nothing more is heard of it."""


def stop(job: Job, intent: int) -> None:
    """A stop of it is heard 15 s after its start."""
    job.stop_again(intent, 119)


def event(job: Job, intent: int) -> None:
    """The same, as a program records it that knows nothing of its start."""
    body = bodies.LinkEvent(what="heard elsewhere", detail="pump, its end was heard and its start was not")
    job.add("event", body, 119)


def looked_first(job: Job, intent: int) -> None:
    """A person found it at rest before that: what was stopped then is another run."""
    job.looked(intent, 114)
    event(job, intent)


def cut(then: Act) -> Job:
    """Return a job whose only run began at 104 s and lost its link at 106 s, which was back at 112 s."""
    job = Job(scope="nipples rr", grade="heard", u=1).event("listening", 40)
    job.run("p1", 104, None, outcome=False)
    intent = next(entry.seq for entry in job.entries() if entry.kind == "intent")
    job.event("lost", 106)
    body = bodies.Outcome(
        actuation=intent, pass_id="p1", result="unknown", stop="unknown", from_mono=str(MONO + 104 * NS)
    )
    job.add("outcome", body, 106)
    job.event("listening", 112)
    then(job, intent)
    return job


@pytest.mark.parametrize(
    ("number", "then", "answer", "says", "never"),
    [
        (17, nothing, "no proof", "ran a time that is not known; at most 30.0 s allowed", "besides"),
        (17, stop, "no proof", "ran 0.0 to 15.0 s; at most 30.0 s allowed", "besides"),
        (17, event, "no proof", "ran 0.0 to 15.0 s; at most 30.0 s allowed", "besides"),
        (17, looked_first, "no proof", "a run of pump by another tester was heard to end and not to begin", ""),
        (17, event, "no proof", "after its start: we did not listen from 15:08:26Z to 15:08:32Z", "besides"),
        (19, nothing, "no proof", "p1: after its start: we did not listen from", "besides"),
        (19, stop, "no proof", "p1: after its start: we did not listen from", "besides"),
        (19, event, "no proof", "p1: after its start: we did not listen from", "besides"),
        (19, looked_first, "no proof", "pump besides: a run of pump by another tester was heard to end", ""),
        (20, nothing, "not met", "nobody saw it end, and nothing shows how long it ran, and no entry says by", "0.0 s"),
        (20, stop, "not met", "nothing shows how long it ran, at the latest until entry", " 0.0 s"),
        (20, stop, "not met", "when the control unit confirmed a stop, 15.0 s after its start", " 0.0 s"),
        (20, event, "not met", "when the control unit confirmed a stop, 15.0 s after its start", " 0.0 s"),
        (20, looked_first, "not met", "when a person looked and found it at rest, 11.0 s after its start", " 0.0 s"),
    ],
)
def test_it_is_one_run_of_a_length_that_nobody_knows(
    number: int, then: Act, answer: str, says: str, never: str
) -> None:
    found = ask(number, cut(then))
    text = "; ".join((found.text, *(f"{one.subject}: {one.text}" for one in found.details)))
    assert found.answer == answer and says in text, text
    assert not never or never not in text, text


def test_a_least_length_of_nothing_is_no_proof_of_any_length() -> None:
    found = ask(16, cut(stop))
    assert found.answer == "not met" and "ran 0.0 to 15.0 s and nobody saw it end, asked 20 s" in found.text
    found = ask(16, cut(nothing))
    assert found.answer == "no proof" and "ran a time that is not known and nobody saw it end, asked" in found.text
