"""Where what hands did is known less well, an answer may become no proof and nothing else.

Jobs are drawn visit by visit with slips of every kind, and the ranges of their manual entries are widened.
"""

from __future__ import annotations

from typing import Any

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.audit.jobs import NS, Job
from tests.audit.procedures import WHOLE, complete
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.journal.entry import Entry, Occurred

BY_HAND = ("touch", "typed")
GAPS = st.sampled_from([0.5, 1.0, 2.0, 4.0, 12.0, 40.0])
VISIT = ("read", "open", "run", "clear", "close", "volume", "torque", "cap")
FINISH = {
    "off": "depressurise",
    "take-off": "feed-off",
    "pump": "pedal-pumped",
    "leaks": "leak-check",
    "road": "road-test",
    "refit": "refitted",
    "service-off": "service-mode-off",
}
READ = {
    "level": ("level", "500 mL", "700 mL"),
    "wheels": ("wheel-torque", "180 N.m", "150 N.m"),
    "voltage": ("voltage", "12.5 V", "11.0 V"),
    "age": ("container-age", "3 d", "60 d"),
    "filled": ("volume-in", "500 mL", "50 mL"),
    "drawn": ("volume-drawn", "300 mL", "0 mL"),
}


def act(job: Job, what: str, pass_id: str, at: float, *, wrong: bool = False, **more: Any) -> None:
    """Add one act of a visit, or of the end of a job; a `wrong` reading is outside its limits."""
    nipple = job.passes[pass_id].nipples[0]
    if what == "open":
        job.open(nipple, pass_id, at, **more)
    elif what == "close":
        job.close(nipple, at, pass_id, **more)
    elif what in ("clear", "cap"):
        job.step(what, at, {"cap": "capped"}.get(what, what), pass_id=pass_id, nipple=nipple, **more)
    elif what in ("volume", "torque"):
        amount = {"volume": ("120 mL", "10 mL"), "torque": ("9 N.m", "12 N.m")}[what][wrong]
        job.read(what, amount, at, step=what, pass_id=pass_id, nipple=nipple, **more)
    elif what == "read":
        job.read("feed-pressure", "1.0 bar" if wrong else "2.0 bar", at, pass_id=pass_id, **more)
    elif what in READ:
        name, *amounts = READ[what]
        job.read(name, amounts[wrong], at, step=what, **more)
    else:
        job.step(what, at, FINISH[what], **more)


@st.composite
def jobs(draw: st.DrawFn) -> tuple[Entry, ...]:
    """A job in which visits were done in some order, each with acts left out, swapped, wrong or told later."""
    if draw(st.integers(0, 4)) == 0:
        return complete().entries()
    job = Job(WHOLE, u=draw(st.sampled_from([0.0, 0.5, 2.0])), grade=draw(st.sampled_from(["sent", "told"])))
    now = 0.0
    for step, affects in (("safe", "made-safe"), ("service-on", "service-mode-on"), ("pressurise", "pressurise")):
        job.step(step, now, affects)

    def do(what: str, pass_id: str) -> float:
        if what == "run":
            if not job.passes[pass_id].wire_command:
                return now
            lasts = draw(st.sampled_from([5.0, 19.0, 20.0, 35.0]))
            job.run(pass_id, now, now + lasts)
            return now + lasts + 1
        wrong = draw(st.integers(0, 5)) == 0
        if draw(st.integers(0, 5)) == 0:
            act(job, what, pass_id, max(0.0, now - draw(GAPS)), wrong=wrong, basis="typed", entered=now)
        else:
            act(job, what, pass_id, now, wrong=wrong)
        return now

    for pass_id in draw(st.lists(st.sampled_from(["p1", "p2", "p3", "p4"]), min_size=1, max_size=5)):
        wanted = [one for one in VISIT if draw(st.integers(0, 9))]
        for what in draw(st.permutations(wanted)) if draw(st.integers(0, 3)) == 0 else wanted:
            now += draw(GAPS)
            now = do(what, pass_id)
    for what in draw(st.lists(st.sampled_from([*FINISH, *READ]), max_size=10)):
        now += draw(GAPS)
        now = do(what, "p1")
    return job.entries()


def widened(entry: Entry, before: float, after: float) -> Entry:
    at = entry.occurred
    low, high = at.from_ns - round(before * NS), at.to_ns + round(after * NS)
    return msgspec.structs.replace(entry, occurred=Occurred(at.basis, str(low), str(high)))


@settings(max_examples=100, deadline=None)
@given(st.data(), jobs())
def test_a_wider_range_makes_an_answer_no_proof_or_leaves_it(data: st.DataObject, entries: tuple[Entry, ...]) -> None:
    by_hand = [index for index, one in enumerate(entries) if one.occurred.basis in BY_HAND]
    chosen = data.draw(st.sets(st.sampled_from(by_hand), min_size=1, max_size=len(by_hand)))
    by = st.sampled_from([0.0, 1.0, 5.0, 60.0])
    wide = list(entries)
    for index in sorted(chosen):
        wide[index] = widened(entries[index], data.draw(by), data.draw(by))
    before, after = (audit(one, list(QUESTIONS.values())).findings for one in (entries, wide))
    wrong = [
        (one.number, one.answer, one.text, other.answer, other.text)
        for one, other in zip(before, after, strict=True)
        if other.answer not in (one.answer, "no proof")
    ]
    assert wrong == []
