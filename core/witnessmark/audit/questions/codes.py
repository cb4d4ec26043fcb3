"""27: is no trouble code left but those that the work itself sets? Those of the last scan after the work, less those.

Where codes were cleared, the last scan is one after it, and what was cleared must have been read before. A code that
the work sets holds nothing up; where it stood before the work as well, and nobody cleared it, it is said to stand
still.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import last_close
from witnessmark.audit.grounds.clearing import Scan, clearings, scanned, told_by, unread, was_heard
from witnessmark.audit.grounds.sequence import not_after
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.journal import bodies

STILL = "there before the work and still there"


def answer(case: Case) -> Verdict:
    scans = case.all_of(bodies.CodeScan)
    after = {body.control_unit: (seq, body) for seq, body in scans if body.when == "after"}
    before = {body.control_unit: (seq, body) for seq, body in scans if body.when == "before"}
    if not scans and not _read(case):
        return does_not_apply("the procedure has no control unit whose codes are read")
    if not after:
        return no_proof("no scan of trouble codes after the work", *(seq for seq, _ in before.values()))
    details = [
        _unit(case, name, after.get(name), before.get(name), [one for one in scans if one[1].control_unit == name])
        for name in dict.fromkeys([*before, *after])
    ]
    stood = [f"{one.subject}: {one.text}" for one in details if STILL in one.text]
    said = _told(case, [*before.values(), *after.values()])
    left = f"no code is left but those that the work itself sets{said}"
    return from_details(details, f"{left}; {'; '.join(stood)}" if stood else left)


def _read(case: Case) -> bool:
    """Whether the procedure has a control unit to ask, or a step that asks it."""
    asks = any(step.act == "scan" for step in (*case.procedure.steps_before, *case.procedure.steps_after))
    return asks or bool(case.procedure.control_unit)


def _unit(case: Case, name: str, after: Scan | None, before: Scan | None, scans: Sequence[Scan]) -> Detail:
    subject = name or case.procedure.control_unit or "control unit"
    if after is None:
        return Detail(subject, "no proof", "scanned before the work and not after it", (before[0],) if before else ())
    cites = (after[0],) if before is None else (before[0], after[0])
    close = last_close(case)
    if not isinstance(close, str):
        sure = not_after(case, close, scanned(case, after))
        if sure != "yes":
            perhaps = "perhaps " if sure == "maybe" else ""
            text = f"scanned last {perhaps}before the last nipple was closed"
            return Detail(subject, "no proof", text, (*cites, close.seq))
    cleared = clearings(case)
    cites = (*cites, *(one.mark.seq for one in cleared))
    late = [one for one in cleared if not_after(case, one.mark, scanned(case, after)) != "yes"]
    if late:
        return Detail(subject, "no proof", f"{late[-1].text} after the last scan, and nobody scanned again", cites)
    earlier = set(before[1].codes) if before else set()
    sets = case.procedure.codes_set_by_work
    left = [code for code in after[1].codes if code not in sets]
    stands = [code for code in after[1].codes if code in sets and code in earlier and not cleared]
    set_by_work = [code for code in after[1].codes if code in sets and code not in stands]
    note = f"; set by the work itself: {listing(set_by_work)}" if set_by_work else ""
    if stands:
        note += f"; {STILL}: {listing(stands)}, which the procedure says the work sets as well"
    note += "".join(f"; {one.text}" for one in cleared)
    note += "; heard as another tester read them" if was_heard(case, after) else ""
    note += _told(case, [one for one in (before, after) if one is not None])
    if left:
        new = [code for code in left if code not in earlier]
        known = f"; {STILL}: " + listing(code for code in left if code in earlier)
        old = known if len(new) < len(left) and before else ""
        fresh = ("new: " if before else "found: ") + listing(new) if new else "none new"
        said = [act for act in case.timeline.acts if act.said and act.done and act.step and act.step == after[1].step]
        stays = "".join(f"; left so by {act.done_by.partition(':')[2]}: {act.said}" for act in said[-1:])
        return Detail(subject, "not met", f"{fresh}{old}{note}{stays}", (*cites, *(act.seq for act in said[-1:])))
    if isinstance(close, str):
        return Detail(subject, "no proof", close, cites)
    if before is None and any(step.act == "scan" for step in case.procedure.steps_before):
        return Detail(subject, "no proof", "no entry of the codes before the work, which the procedure asks for", cites)
    end = None if isinstance(close, str) else close
    for one in cleared:
        if why := unread(case, one, scans, end):
            return Detail(subject, "no proof", why, cites)
    if cleared:
        earlier = {code for _, scan in scans for code in scan.codes}
    gone = listing(sorted(earlier - set(after[1].codes)))
    text = (f"gone: {gone}" if gone else "no other code" if set_by_work or stands else "no code") + note
    return Detail(subject, "met", text, cites)


def _told(case: Case, scans: Sequence[Scan]) -> str:
    """Say who only tells of codes, and that nothing of ours read or heard them; empty where none is told."""
    told = [(told_by(case, seq), body.when) for seq, body in scans if body.exchange is None]
    return "".join(f"; told: {who} read those {when} the work off another tester" for who, when in told if who)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(27, "codes", "No trouble code but the work's own?", answer)]
