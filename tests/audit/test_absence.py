"""Absence is never a pass: what was met is not met any more once the entries it rests on are gone."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.audit.jobs import Job
from tests.audit.procedures import WHOLE, complete
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit, find
from witnessmark.audit.verdict import ORDER
from witnessmark.journal.entry import Entry


@dataclass(frozen=True)
class Intact:
    verdict: str = "intact"
    text: str = "against the checkpoint printed on paper"


JOB = complete()
ENTRIES = JOB.entries()
FINDINGS = {one.number: one for one in audit(ENTRIES, list(QUESTIONS.values()), integrity=Intact()).findings}
RESTS_ON_WHAT_WAS_READ = sorted(FINDINGS.keys() - {29, 30})
"""29 rests on every entry's clocks and 30 on the check of the file: neither loses its ground with single entries."""


def test_every_question_is_asked() -> None:
    assert sorted(FINDINGS) == list(range(1, 38))


def test_a_job_done_and_recorded_as_it_should_be_meets_them_all() -> None:
    assert {one.number: (one.answer, one.text) for one in FINDINGS.values() if one.answer != "met"} == {}


@pytest.mark.parametrize("number", RESTS_ON_WHAT_WAS_READ)
def test_a_finding_cites_entries_and_falls_with_them(number: int) -> None:
    finding = FINDINGS[number]
    kept = [entry for entry in ENTRIES if entry.kind == "job-opened" or entry.seq not in finding.cites]
    assert len(kept) < len(ENTRIES)
    (again,) = audit(kept, [QUESTIONS[number]]).findings
    assert again.answer != "met", again


RUN = ("intent", "start", "stop", "outcome")
NEEDS: dict[int, tuple[str, ...]] = {
    1: ("identification",),
    2: ("grade", "class"),
    3: ("container-age",),
    4: ("opened", "closed"),
    5: ("opened",),
    6: RUN,
    7: ("opened", *RUN),
    8: ("intent", "start"),
    9: ("opened", "closed"),
    10: ("opened", "closed"),
    11: ("opened", "closed"),
    14: ("level", "volume-removed", "volume-in", "volume", "volume-drawn"),
    15: ("volume-in", "volume"),
    16: ("intent", "start", "outcome"),
    17: RUN,
    18: ("intent", "start", "stop"),
    19: ("intent",),
    20: (*RUN, "keepalive"),
    21: RUN,
    22: (*RUN, "keepalive"),
    23: ("closed", "torque", "cap"),
    24: ("depressurise", "off"),
    25: ("closed", "pump"),
    26: ("closed", "leaks", "road"),
    27: ("closed", "after"),
    33: ("opened", "clear"),
    34: ("closed", "wheel-torque", "refit"),
    35: ("opened",),
    36: ("safe", "service-on", "service-off", "opened", "closed"),
    37: ("finished", "released"),
}
"""Entries of which a question can spare not one. The rest are asked of many entries, or of all of them at once."""


def called(entry: Entry) -> str:
    """What an entry is about, in a word."""
    if entry.kind in ("intent", "outcome", "keepalive"):
        return entry.kind
    words = (entry.body.get(key) for key in ("what", "step", "purpose", "when", "name", "state", "act"))
    return next((word for word in words if word), entry.kind)


@pytest.mark.parametrize("number", sorted(NEEDS))
def test_one_entry_missing_of_those_a_question_needs_is_no_pass(number: int) -> None:
    needed = [entry.seq for entry in ENTRIES[1:] if called(entry) in NEEDS[number]]
    assert {called(ENTRIES[seq]) for seq in needed} == set(NEEDS[number])
    for gone in needed:
        kept = [entry for entry in ENTRIES if entry.seq != gone]
        (again,) = audit(kept, [QUESTIONS[number]]).findings
        assert again.answer != "met", (gone, again)


SPARES: dict[int, tuple[str, ...]] = {
    8: ("outcome",),
    11: ("feed-pressure",),
    12: ("feed-pressure",),
    13: ("feed-pressure",),
    18: ("outcome",),
    21: ("voltage",),
    25: ("volume-drawn",),
    27: ("before",),
}
"""Cited entries that a question can spare: others settle it still. Those of 28, 31 and 32 each speak for themselves."""


@pytest.mark.parametrize("number", sorted(FINDINGS.keys() - {28, 29, 30, 31, 32}))
def test_no_entry_that_a_question_cites_can_be_missing_but_those_it_can_spare(number: int) -> None:
    stayed = set()
    for gone in FINDINGS[number].cites:
        if ENTRIES[gone].kind != "job-opened":
            (again,) = audit([one for one in ENTRIES if one.seq != gone], [QUESTIONS[number]]).findings
            assert again.answer != "does not apply", (gone, again)
            stayed |= {called(ENTRIES[gone])} if again.answer == "met" else set()
    assert stayed == set(SPARES.get(number, ()))


@settings(max_examples=60, deadline=None)
@given(st.sets(st.integers(1, len(ENTRIES) - 1), max_size=12))
def test_entries_left_out_never_break_a_question(gone: set[int]) -> None:
    kept = [entry for entry in ENTRIES if entry.seq not in gone]
    for one in audit(kept, list(QUESTIONS.values())).findings:
        assert one.answer in ORDER
        assert "broke" not in one.text, one


ACTS = st.sampled_from(
    ["open", "close", "run", "refused", "silent", "cut", "read", "pressurise", "off", "step", "skip"]
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(ACTS, st.sampled_from(["p1", "p2", "p3", "p4"]), st.floats(0, 40)), max_size=15))
def test_no_order_of_acts_breaks_a_question(acts: list[tuple[str, str, float]]) -> None:
    job = Job(WHOLE)
    now = 0.0
    for act, pass_id, later in acts:
        now += round(later, 1)
        nipple = job.passes[pass_id].nipples[0]
        if act == "open":
            job.open(nipple, pass_id, now)
        elif act == "close":
            job.close(nipple, now, pass_id)
        elif act in ("run", "refused", "silent", "cut") and job.passes[pass_id].wire_command:
            if act == "run":
                job.run(pass_id, now, now + later)
                now += later
            elif act == "cut":
                job.run(pass_id, now, None, outcome=False)
            else:
                refused = act == "refused"
                job.run(pass_id, now, None, answer="negative" if refused else "silence", code="22" if refused else "")
        elif act == "read":
            job.read("feed-pressure", f"{later / 20:.1f} bar", now, pass_id=pass_id)
        elif act == "pressurise":
            job.pressurise(now)
        elif act == "off":
            job.depressurise(now)
        else:
            job.step("cap", now, "capped", pass_id=pass_id, act="skipped" if act == "skip" else "done")
    case = job.case()
    for question in QUESTIONS.values():
        finding = find(question, case)
        assert finding.answer in ORDER
        assert "broke" not in finding.text, finding
        assert finding.text


@pytest.mark.parametrize("number", [7, 17, 19, 20, 21, 22])
def test_a_run_that_the_scope_does_not_ask_for_is_judged_all_the_same(number: int) -> None:
    none = Job(WHOLE, scope="nipples fl")
    run = Job(WHOLE, scope="nipples fl").run("p1", 10, 30)
    assert find(QUESTIONS[number], none.case()).answer == "does not apply"
    assert find(QUESTIONS[number], run.case()).answer != "does not apply"


CLOSED, UNSEEN, UNREAD = ("closed",), ("opened", "closed"), ("opened", "volume")


@pytest.mark.parametrize(
    ("number", "gone"),
    [*((number, gone) for number in (9, 10, 25, 26, 27, 34, 36) for gone in (CLOSED, UNSEEN)), (15, UNREAD)],
)
def test_a_visit_of_which_less_is_in_the_record_proves_no_more(number: int, gone: tuple[str, ...]) -> None:
    def is_gone(entry: Entry) -> bool:
        return entry.body.get("pass_id") == "p3" and entry.body.get("act", entry.body.get("what")) in gone

    (found,) = audit([entry for entry in ENTRIES if not is_gone(entry)], [QUESTIONS[number]]).findings
    assert found.answer == "no proof", found
