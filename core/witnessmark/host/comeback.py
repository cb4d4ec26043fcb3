"""What a comeback begins with: the unmet and the unproven of the job before, and the passes they name.

A shop and a scope `follows JOB` (or `follows JOB PASS,PASS`) flow in; the whole scope and the lines to look at first
flow out: what stands open on the vehicle before all. Rule that holds here: the earlier job's evidence is audited anew,
so that nothing rests on what somebody remembers of it.
"""

from __future__ import annotations

from witnessmark.audit.run import Audit
from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.host import dossier
from witnessmark.host.closing import state_of
from witnessmark.host.releasing import INTEGRITY, RELEASE
from witnessmark.host.shop import Shop
from witnessmark.job.standing import standing
from witnessmark.journal.commitment import MARK

OPEN = ("not met", "no proof")
MOST_ALONE = 3
"""How many unproven items have a touch of their own: a clean job leaves no more. More were hardly begun."""
OF_THE_RECORD = (RELEASE, INTEGRITY)
"""Questions about the record itself: nothing on the vehicle is looked at for them."""


def follow(shop: Shop, scope: str) -> tuple[str, tuple[str, ...]]:
    """Return the scope with its passes, and what is to be looked at first. Raises InputError for no such job."""
    words = scope.split()
    if len(words) not in (2, 3) or words[0] != "follows":
        raise InputError(f"{scope!r} is not understood", place="scope", hint="write follows JOB")
    found = dossier.of_job(shop, words[1])
    audited = found.audited().audit
    passes = words[2] if len(words) == 3 else ",".join(to_check(audited))
    stands = standing(state_of(shop, words[1]))
    return f"follows {words[1]} {passes}", (*stands, *look_at(audited))


def look_at(audit: Audit) -> list[str]:
    """Return what is looked at first: each unmet item, and the unproven ones, together where they are many."""
    unmet = [spell(one) for one in left_open(audit) if one.answer == "not met"]
    unproven = [one for one in left_open(audit) if one.answer == "no proof"]
    if len(unproven) <= MOST_ALONE:
        return [*unmet, *map(spell, unproven)]
    return [*unmet, "\n".join((f"no proof of {len(unproven)} things:", *(f"- {one.title}" for one in unproven)))]


def spell(one: Finding) -> str:
    """Return a finding as the next job shows it; what a person said of it stays with the job before."""
    return f"{one.title} {one.answer}: {MARK.sub('(in words there)', one.text)}"


def left_open(audit: Audit) -> list[Finding]:
    """Return the findings that were not met, then those without proof."""
    found = [one for one in audit.findings if one.number not in OF_THE_RECORD]
    return [one for answer in OPEN for one in found if one.answer == answer]


def to_check(audit: Audit) -> list[str]:
    """Return the planned passes that the open findings name; all of them when they name none."""
    plan = [one.id for one in audit.case.plan]
    named = {
        detail.subject.partition(",")[0] for one in left_open(audit) for detail in one.details if detail.answer in OPEN
    }
    return [name for name in plan if name in named] or plan
