"""What the audit leaves open is named before somebody finishes a job: what nobody can accept, then by question."""

from __future__ import annotations

from tests.audit.jobs import Job

from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Finding
from witnessmark.host.extending import questions
from witnessmark.host.left_open import lines
from witnessmark.host.releasing import NOT_FINISHED, Gate, gate_of


def found(number: int, answer: str) -> Finding:
    return Finding(number, f"q{number}", f"Q{number}?", answer, "")  # type: ignore[arg-type]


def test_questions_are_named_by_their_answer_and_of_many_the_rest_is_counted() -> None:
    held = (found(4, "no proof"), found(16, "not met"), found(26, "not met"))
    assert [*lines(Gate((), held))] == ["Not met so far: 16 Q16? 26 Q26?", "No proof so far: 4 Q4?"]
    (line,) = lines(Gate((), tuple(found(number, "not met") for number in range(1, 11))))
    assert line.endswith("8 Q8? And 2 more.") and [*lines(Gate((), ()))] == []


def test_what_nobody_can_accept_comes_first_and_that_it_is_not_finished_is_not_said() -> None:
    job = Job(scope="nipples rr").open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    run = next(one.seq for one in job.entries() if one.kind == "intent")
    job.looked(run, 140, safe=False)
    gate = gate_of(audit(job.entries(), questions.load().asked))
    assert NOT_FINISHED.format("open") in gate.shut
    first, *rest = lines(gate)
    assert first.startswith("Can be accepted by nobody: who looked last after ") and "not find it safe" in first
    assert rest and not [one for one in rest if "nobody" in one or "not finished" in one]
