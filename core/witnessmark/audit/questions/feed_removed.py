"""24: was the feed removed safely? Every time the adapter came off, the pressure had been let off before."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof


def answer(case: Case) -> Verdict:
    fed = asked(case, "feed-on", "feed-off", "pressurise") or case.timeline.acts_affecting("pressurise")
    if not fed:
        return does_not_apply("the procedure uses no feed")
    removed = case.timeline.acts_affecting("feed-off")
    if not removed:
        return no_proof("no entry says that the feed was taken off")
    return from_details([_removed(case, act) for act in removed], "the pressure was let off before the feed came off")


def _removed(case: Case, act: Act) -> Detail:
    subject = f"feed off, entry {act.seq}"
    earlier = [one for one in case.feed_acts if one.seq < act.seq and one.affects != "feed-off"]
    if not earlier:
        return Detail(subject, "no proof", "no entry says that its pressure was let off", (act.seq,))
    last = earlier[-1]
    cites = (last.seq, act.seq)
    if last.affects == "pressurise":
        left_out = [one for one in case.timeline.acts if one.act == "skipped" and one.affects == "depressurise"]
        if left_out:
            said = f"it was under pressure, and letting it off was left out: {left_out[-1].said or 'no reason given'}"
            return Detail(subject, "not met", said, (*cites, left_out[-1].seq))
        return Detail(subject, "no proof", "it was under pressure, and no entry lets it off", cites)
    if last.at.before(act.at) == "no":
        return Detail(subject, "not met", "the pressure was let off only afterwards", cites)
    return Detail(subject, "met", "the pressure had been let off", cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(24, "feed-removed", "Was the feed let off before it was removed?", answer)]
