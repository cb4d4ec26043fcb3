"""Question 6, open while the wire command ran: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean
from tests.audit.shipped import ask


def job(u: float = 1.0, **more: object) -> Job:
    return Job(scope="nipples rr", u=u, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (job().open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35), "met", "100 %"),
        (job().run("p1", 10, 30).open("rr", "p1", 14).close("rr", 35), "not met", "75 % to 85 %"),
        (job().run("p1", 10, 30).open("rr", "p1", 12.5).close("rr", 35), "no proof", "82 % to 93 %"),
        (job().open("rr", "p1", 11).run("p1", 10, 30).close("rr", 35), "met", "90 % to 100 %"),
        (job().open("rr", "p1", 8).run("p1", 10, 30), "no proof", "no entry closes it"),
        (job().run("p1", 10, 30), "no proof", "no entry says that it was open"),
        (job().open("rr", "p1", 40).run("p1", 10, 30).close("rr", 50), "not met", "0 %"),
        (job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30), "no proof", "shut again before the run"),
        (job().open("rr", "p1", 5).close("rr", 9.8).run("p1", 10, 30), "no proof", "no entry opens it after that"),
        (job().open("rr", "p1", 5).close("rr", 10.5, basis="typed").run("p1", 10, 30), "no proof", "may have been"),
        (job().open("rr", "p1", 5).close("rr", 13).run("p1", 10, 30), "not met", "open for 10 % to 20 %"),
        (
            job().open("rr", "p1", 5).close("rr", 10.5).open("rr", "p1", 28).close("rr", 40).run("p1", 10, 30),
            "not met",
            "0",
        ),
        (
            job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30)
            .step("nipple-missed", 40, act="skipped", pass_id="p1", nipple="rr"),
            "not met",
            "says that it was not opened while it ran",
        ),
        (job().open("rr", "p1", 8).close("rr", 35), "no proof", "no entry of a run"),
        (job().open("rr", "p1", 8).run("p1", 10, None, answer="negative", code="22"), "not met", "refused"),
        (job().open("rr", "p1", 8).run("p1", 10, None, answer="silence"), "no proof", "nothing says whether"),
        (job().open("rr", "p1", 8).run("p1", 10, None, outcome=False).close("rr", 35), "no proof", "of a length that"),
        (
            job().open("rr", "p1", 8).run("p1", 10, 30).close("rr", 20).open("rr", "p1", 20).close("rr", 40),
            "met",
            "90 % to 100 %",
        ),
        (job(grade="told").open("rr", "p1", 5).run("p1", 10, 30).close("rr", 35), "met", "100 %"),
        (job(grade="told").open("rr", "p1", 13).run("p1", 10, 30).close("rr", 35), "no proof", "%"),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", "each run"),
    ],
    ids=[
        "open before", "opened late", "too near to tell", "just enough", "not closed", "never opened",
        "opened after the run", "shut again", "shut again just before", "shut perhaps before",
        "shut early on", "shut perhaps before and opened late", "shut again and said so",
        "no run", "refused", "silence", "no outcome", "closed and opened again",
        "told", "told and too near", "no wire command", "clean",
    ],
)  # fmt: skip
def test_open_while_run(job: Job, answer: str, text: str) -> None:
    finding = ask(6, job)
    assert (finding.answer, text in finding.text + "".join(one.text for one in finding.details)) == (answer, True), (
        finding
    )
