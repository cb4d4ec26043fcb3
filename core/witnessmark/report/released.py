"""A release as a sheet tells it: by whom, how that person proved to be it, who was allowed to, and what was accepted.

A case flows in, plain values flow out. Rules that hold here: page one has what was accepted in brief, by the numbers of
the questions; each stands on the lead's pages; what an entry after the release opened is open since it, by the
tolerances of that release: what others open is said apart; that a record is not as it was written is no such thing.
"""

from __future__ import annotations

from typing import Any

from witnessmark.audit.amended import SAME, without_list
from witnessmark.audit.case import Case
from witnessmark.audit.cited import ranges
from witnessmark.audit.policy import BY_POLICY, Policy, policy_said
from witnessmark.audit.run import Audit
from witnessmark.audit.say import listing
from witnessmark.audit.verdict import Finding
from witnessmark.journal import bodies
from witnessmark.report.times import Times

MOST = 12
"""How many questions, or rows of them, page one names of what was accepted."""
BY_NAME = "no PIN was asked for and the shop has no people file, so nothing shows that it was this person, or a lead"
"""What a release by name only rests on."""
BESIDE = " by the system's clock"
"""What is said of the time of a release that was not written on the practice clock of its job."""
BY_RELEASE = "by the tolerances of its release"
"""What is said of a finding that rests on other tolerances than the others of a paper."""
INTEGRITY = 30
"""The question that only something held elsewhere can answer: without it, it has no proof at any release."""
PROVEN = {
    "pin": "with the PIN",
    "name only": f"by name only: {BY_NAME}",
    "": "the entry does not say whether a PIN was asked for",
}


def release(case: Case, times: Times) -> dict[str, Any] | None:
    """Return the release that the job stands at, None for a job that is not released."""
    states = case.all_of(bodies.State)
    if not states or states[-1][1].state != "released":
        return None
    seq, body = states[-1]
    entry = next(one for one in case.entries if one.seq == seq)
    by = entry.done_by.partition(":")[2]
    accepted = [_accepted(one) for one in body.accepted]
    return {
        "seq": seq,
        "by": by,
        "at": f"{times.text(case.clock.told(entry))}{BESIDE if case.clock.beside(entry) else ''}",
        "why": body.why,
        "proven": body.proven,
        "proven_text": PROVEN.get(body.proven, body.proven),
        "policy": body.policy,
        "may_release": None if body.may_release is None else list(body.may_release),
        "allowed": _allowed(body),
        "accepted": accepted,
        "brief": _brief(by, accepted),
    }


def since(audit: Audit) -> list[Finding]:
    """Return what entries after its release opened in a released job; nothing for any other job.

    That is what is open, rests on such an entry too, and was not accepted in these words; what was accepted as not met
    and has no proof now is not opened by it. What rests on a tolerance is judged by those of the release; where nobody
    knows them, by those of the audit, and what they found up to the release was not opened since.
    """
    states = audit.case.all_of(bodies.State)
    if not states or states[-1][1].state != "released":
        return []
    seq, body = states[-1]
    accepted = {one.partition(" ")[0]: one for one in body.accepted}
    before = {number: spell(one) for number, one in audit.at_release.items()}
    return [
        one
        for one in (audit.by_release.get(one.number, one) for one in audit.findings)
        if one.answer in ("not met", "no proof")
        and max(one.cites, default=0) > seq
        and one.number != INTEGRITY
        and not _as_accepted(one, accepted.get(str(one.number), ""))
        and not _as_accepted(one, before.get(one.number, ""))
    ]


def tightened(audit: Audit) -> list[Finding]:
    """Return what is open in a released job by other tolerances than those of its release, and was not accepted."""
    states = audit.case.all_of(bodies.State)
    if not states or states[-1][1].state != "released" or not other_policy(states[-1][1].policy, audit.case.policy):
        return []
    accepted = {one.partition(" ")[0]: one.partition(": ")[0] for one in states[-1][1].accepted}
    known = {(one.number, one.answer) for one in since(audit)}
    found = (one for one in audit.findings if one.number in BY_POLICY and one.answer in ("not met", "no proof"))
    return [
        one
        for one in found
        if (one.number, one.answer) not in known
        and not accepted.get(str(one.number), "").endswith(("not met", one.answer))
    ]


def other_policy(then: str, now: Policy) -> bool:
    """Say whether a job is audited by other tolerances than those that its release says, by their values.

    Of a release that says none, as those of a version before it, nobody knows.
    """
    was = policy_said(then)
    return was is not None and was.set_to != now.set_to


def spell(one: Finding) -> str:
    """Return a finding as the gate names it, and as a release keeps what it accepted."""
    return f"{one.number} {one.title} {one.answer}: {one.text}"


def _as_accepted(one: Finding, accepted: str) -> bool:
    """Whether a finding was accepted in these words, and no correction changes it, or as worse than it is now.

    A further correction of what it rests on changes nothing as long as answer and words stay what they were.
    """
    worse = accepted.partition(": ")[0].endswith("not met")
    said, accepted = without_list(spell(one)), without_list(accepted)
    same = said == accepted or (said.startswith(accepted) and said.endswith(SAME))
    return bool(accepted) and (same or (worse and one.answer == "no proof"))


def _accepted(text: str) -> dict[str, Any]:
    """Split the number of the question off what was accepted of it."""
    number, _, rest = text.partition(" ")
    named = number.isdecimal() and len(number) <= 4
    return {"number": int(number), "text": rest} if named else {"number": None, "text": text}


def _brief(by: str, accepted: list[dict[str, Any]]) -> str:
    """Return `accepted by l-heron as open: questions 3, 9 and 12-15`; empty where nothing was accepted."""
    if not accepted:
        return ""
    numbers = [one["number"] for one in accepted if one["number"] is not None]
    words = [str(low) if low == high else f"{low}-{high}" for low, high in ranges(numbers)]
    words = words if len(words) <= MOST else [*words[:MOST], f"{sum(map(_count, ranges(numbers)[MOST:]))} more"]
    others = len(accepted) - len(numbers)
    said = [f"{'question' if len(numbers) == 1 else 'questions'} {listing(words)}"] if numbers else []
    said += [f"{others} {'thing' if others == 1 else 'things'} of no question"] if others else []
    return f"accepted by {by} as open: {', and '.join(said)}"


def _count(one: tuple[int, int]) -> int:
    return one[1] - one[0] + 1


def _allowed(body: bodies.State) -> str:
    """Return who besides the leads was allowed to release then, as the shop's `release.toml` said."""
    if body.may_release is None:
        return "the entry does not say who was allowed to release"
    if not body.may_release:
        return NO_LEAD if body.proven == "name only" else "only a lead was allowed to release"
    besides = f"{NO_LEAD}; the" if body.proven == "name only" else "besides a lead, the"
    return f"{besides} shop's release.toml allowed {listing(body.may_release)} to release"


NO_LEAD = "nobody was on record as a lead"
