"""What the audit leaves open is named by question before somebody finishes a job."""

from __future__ import annotations

from witnessmark.audit.verdict import Finding
from witnessmark.host.left_open import lines


def found(number: int, answer: str) -> Finding:
    return Finding(number, f"q{number}", f"Q{number}?", answer, "")  # type: ignore[arg-type]


def test_questions_are_named_by_their_answer_and_of_many_the_rest_is_counted() -> None:
    held = (found(4, "no proof"), found(16, "not met"), found(26, "not met"))
    assert lines(held) == ("Not met so far: 16 Q16? 26 Q26?", "No proof so far: 4 Q4?")
    (line,) = lines(tuple(found(number, "not met") for number in range(1, 11)))
    assert line.endswith("8 Q8? And 2 more.") and lines(()) == ()
