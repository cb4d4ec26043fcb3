"""What page one says beside the line of a visit that was not done as the procedure asks: in words, as the audit does.

The findings of the audit and a visit flow in, plain values flow out. Rules that hold here: nothing is judged a second
time, the words are the findings' own, so that page one and the audit never differ; a visit whose nipple was shut again
before its run is told so although nothing proves that it was not opened once more; so is one that was to be done again
and was not; a bottle that nobody read is named with every visit whose fluid ran into it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.fluid.bottles import lost, was_read
from witnessmark.audit.grounds.asked import NOT_SO
from witnessmark.audit.grounds.unopened import in_words, shut_before
from witnessmark.audit.grounds.visits import Visit
from witnessmark.audit.grounds.void import void, words
from witnessmark.audit.questions.duration import LONGER, too_long
from witnessmark.audit.timeline import NOT_RIGHT, Act
from witnessmark.audit.verdict import Detail, Finding
from witnessmark.report.attempts import SAID_NOT
from witnessmark.report.read_now import taken_back

SHARE, ORDER, LENGTH, CLEAR = "open-while-run", "opening-order", "duration", "ran-clear"
"""The questions of which page one tells at a visit what is not met: open for its run, in time, long enough, clear."""
SAID = {SHARE: "not open as asked", ORDER: "not in time", LENGTH: "too short", CLEAR: "not clear"}
"""What is said of a visit's line, and of its cell that is marked; not clear only of what was seen not to be."""
NEVER = "did not run"
"""What is said instead where nothing ran that a nipple could be open for."""


def marks(findings: Sequence[Finding], case: Case, one: Visit) -> dict[str, Any]:
    """Return the words for when it was opened, how long it was open and ran, and what is not met, short and in full."""
    wrong = {finding.id: _not_met(finding, one, case) for finding in findings if finding.id in SAID}
    wrong[CLEAR] = [part for part in wrong.get(CLEAR, ()) if NOT_RIGHT in part.text or NOT_SO in part.text]
    texts = dict.fromkeys(_named(detail) for name in SAID for detail in wrong.get(name, ()))
    run = one.run
    never = "" if run is None or run.began != "no" else SAID_NOT if run.grade == "told" else NEVER
    said = {name: SAID[name] if wrong.get(name) and not never else "" for name in SAID}
    return {
        "opened_mark": said[ORDER],
        "open_for_mark": said[SHARE],
        "ran_mark": said[LENGTH] or (LONGER if _longer(case, one) else ""),
        "not_as_asked": list(texts),
        "not_met": _in_short(findings, wrong, {name: never or SAID[name] for name in SAID} | {CLEAR: SAID[CLEAR]}),
        "not_known": [] if wrong.get(SHARE) else list(_shut_again(case, one)),
        "void": words(one.id, void(case)[one.id]) if one.id in void(case) else "",
    }


def _longer(case: Case, one: Visit) -> bool:
    """Whether the run lasted longer than asked: that meets the question, and its cell is marked all the same."""
    return one.run is not None and bool(one.wire_command) and too_long(one.run, case.passes[one.id])


def _not_met(finding: Finding, one: Visit, case: Case) -> list[Detail]:
    """Return the parts of a finding that are of this visit, or of a nipple of it, and not met.

    Where not all of the record says so, one that rests on what was taken back is none.
    """
    gone = frozenset() if finding.answer == "not met" else taken_back(case)
    mine = (part for part in finding.details if part.subject == one.id or part.subject.startswith(f"{one.id}, "))
    return [part for part in mine if part.answer == "not met" and gone.isdisjoint(part.cites)]


def _in_short(
    findings: Sequence[Finding], wrong: dict[str, list[Detail]], words: dict[str, str]
) -> list[dict[str, Any]]:
    """Return each word for what is not met once, with the questions that say it in full and the entries they cite."""
    found: dict[str, dict[str, Any]] = {}
    for finding in findings:
        if parts := wrong.get(finding.id):
            one = found.setdefault(words[finding.id], {"mark": words[finding.id], "questions": [], "cites": []})
            one["questions"].append(finding.number)
            one["cites"] = sorted({*one["cites"], *(seq for part in parts for seq in part.cites)})
    return list(found.values())


def _named(detail: Detail) -> str:
    """Return a part in words, with the nipple that it is of, if any."""
    nipple = detail.subject.partition(", ")[2]
    return f"{nipple}: {detail.text}" if nipple else detail.text


def _shut_again(case: Case, one: Visit) -> Iterator[str]:
    """Name each nipple of the visit that was shut again before the run it is judged by."""
    if one.run is None or one.run.ran is None:
        return
    for nipple in case.nipples_of(one.id):
        if shut_before(case, one.run, nipple) is not None:
            yield f"{case.nipple(nipple).name}: {in_words(case, one.run, nipple)[0]}"


def unread(case: Case, one: Visit) -> list[str]:
    """Return in words that nobody knows how much ran out at a visit, and why; nothing where its bottle was read."""
    return [_unread(case, one.id, left) for left in lost(case, one.id)]


def _unread(case: Case, name: str, left: Act) -> str:
    read = {
        place: any(was_read(case, each) for each in case.timeline.openings_at(place)) for place in (name, left.pass_id)
    }
    known = "volume of one bottle not known" if read[name] else "volume not known"
    if left.pass_id != name:
        return f"{known}: the bottle of {left.pass_id} was not read{' then' if read[left.pass_id] else ''}"
    visited = dict.fromkeys(each.pass_id for each in case.timeline.openings if each.pass_id != name)
    others = [other for other in visited if left in lost(case, other)]
    both = f", nor {say.listing(others)}'s" if others else ""
    return f"{known}{both}: {left.said or 'the bottle was not read'}"
