"""What a comeback begins with: the unmet and the unproven of the job before, and the passes they name.

A shop and a scope `follows JOB` (or `follows JOB PASS,PASS`) flow in; the whole scope and the lines to look at first
flow out: what stands open on the vehicle before all. Rules that hold here: what needs a hand at the vehicle waits until
it is made safe; the earlier job's evidence is audited anew,
so that nothing rests on what somebody remembers of it; what cannot be looked at on the vehicle is only read; what was
opened for a mend and not shown bled has its passes in the scope, and no look stands for them; after fluid was poured
that is not the right one, or not fresh, every pass of the procedure is; a vehicle with another number is another
vehicle.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from textwrap import shorten

from witnessmark.audit.case import Case
from witnessmark.audit.fluid.containers import poured_at
from witnessmark.audit.grounds.mends import every_mend, left_unbled, lines
from witnessmark.audit.run import Audit
from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.host import dossier
from witnessmark.host.closing import state_of
from witnessmark.host.history import history
from witnessmark.host.other_jobs import plate_of
from witnessmark.host.releasing import RELEASE
from witnessmark.host.shop import Shop
from witnessmark.job.reasons import PICKED
from witnessmark.job.walk.standing import standing
from witnessmark.job.walk.steps import THE_RECORD
from witnessmark.journal.commitment import MARK, Kept, plain_form
from witnessmark.journal.store import Journal
from witnessmark.procedure.mending import bleeding
from witnessmark.procedure.safe import ONCE_SAFE
from witnessmark.report.released import INTEGRITY

OPEN = ("not met", "no proof")
MOST_ALONE = 3
"""How many unproven items have a touch of their own: a clean job leaves no more. More were hardly begun."""
OF_THE_RECORD = (RELEASE, INTEGRITY)
"""Questions that another job's record does not answer: nobody is told of them."""
AT_THE_VEHICLE = (
    "vehicle", "fluid-kind", "container-age", "closed", "torque-cap", "level", "final-checks", "codes", "refitted",
    "made-safe",
)  # fmt: skip
"""Questions that a look at the vehicle, or at what is filled in, can answer anew; each of ours beside them asks how it
was done."""
OURS = 1000
"""Numbers from here on are a plugin's: whoever is at the vehicle says of them what can be said."""
OF_THE_FLUID = ("fluid-kind", "container-age")
"""Questions of what was poured: once it was, no look puts it right."""
CHECKS = "final-checks"
MOST_SIGNS = 60
"""How much of a step's text names it here: all of it stands where it is done. A choice of this project."""
ENTRY = re.compile(r" \(\d\d:\d\d:\d\dZ, entry \d+\)")
"""A time and an entry of the earlier record in a text, which say nothing at the vehicle."""


def follow(shop: Shop, scope: str) -> tuple[str, tuple[str, ...]]:
    """Return the scope with its passes, and what is to be looked at first. Raises InputError for no such job."""
    words = scope.split()
    if len(words) not in (2, 3) or words[0] != "follows":
        raise InputError(f"{scope!r} is not understood", place="scope", hint="write follows JOB")
    found = dossier.of_job(shop, words[1])
    audited = found.audited().audit
    named = [one for one in words[2].split(",") if one] if len(words) == 3 else to_check(audited)
    order = [one.id for one in audited.case.procedure.passes]
    wanted = sorted(
        {*named, *to_bleed(audited), *to_flush(audited)},
        key=lambda one: order.index(one) if one in order else len(order),
    )
    passes = ",".join(wanted)
    stands = standing(state_of(shop, words[1]))
    return f"follows {words[1]} {passes}", (*stands, *look_at(audited, found.values or {}))


def same_vehicle(journal: Journal, job: str, vehicle: Mapping[str, str], plate: str) -> str:
    """Return what is to be told of it that the vehicle is the one of `job`, empty where its number says so.

    Raises InputError where number, or for want of it the plate, is another one.
    """
    before = next(iter(history(journal, job)))
    known: Mapping[str, str] = before.body.get("vehicle", {})
    vins = [str(one.get("vin", "")).strip().upper() for one in (known, vehicle)]
    plates = [plain_form(one) for one in (plate_of(journal, before), plate)]
    names = [one.get("id", "") for one in (known, vehicle)]
    for what, (there, here), place in (("VIN", vins, "--vin"), ("plate", plates, "--plate")):
        if there and here and there != here:
            raise InputError(
                f"job {job} is of another vehicle: its {what} is {there}, not {here}",
                place=place, hint="give that vehicle's, or open a job of its own: leave --scope follows away",
            )  # fmt: skip
        if there and here:
            called = f"note: job {job} calls this vehicle {names[0]!r}, not {names[1]!r}; its {what} is the same"
            return called if names[0] != names[1] else ""
    same = f"both are called {names[1]!r}" if names[0] == names[1] else f"that one is called {names[0]!r}"
    return f"note: no VIN of both: that this is the vehicle of job {job} rests on what you say; {same}"


def look_at(audit: Audit, values: Mapping[str, Kept]) -> list[str]:
    """Return what is looked at first: each unmet item, and the unproven ones, together where they are many.

    Last, as one, what no look at the vehicle can put right: it is only read, so the walk has it first. All else waits
    until the vehicle is made safe. `values` is what is kept beside the earlier record.
    """
    found, unbled = left_open(audit), left_unbled(audit.case)
    there = [one for one in found if _at_the_vehicle(audit.case, one, unbled)]
    past = [one for one in found if one not in there]
    unmet = [spell(one, values) for one in there if one.answer == "not met"]
    unproven = [one for one in there if one.answer == "no proof"]
    if len(unproven) <= MOST_ALONE:
        first = [*unmet, *(spell(one, values) for one in unproven)]
    else:
        first = [*unmet, "\n".join((f"no proof of {len(unproven)} things:", *(f"- {one.title}" for one in unproven)))]
    read = [f"- {spell(one, values) if one.answer == 'not met' else f'{one.title} {one.answer}'}" for one in past]
    if unbled:
        names = lines(audit.case, unbled)
        read.insert(0, f"- Opened for a mend, or perhaps, and not shown bled after it: {names}. {_bled_by(audit)}")
    first = [f"{ONCE_SAFE}{one}" for one in first]
    return [*first, "\n".join((f"{THE_RECORD}.", *read))] if read else first


def _at_the_vehicle(case: Case, one: Finding, unbled: Sequence[str]) -> bool:
    """Whether a look can answer a finding anew: of a check that rests only on what was not bled after a mend, none."""
    if _poured(case, one):
        return False
    if one.id != CHECKS or one.answer == "not met":
        return one.id in AT_THE_VEHICLE or one.number >= OURS
    mended = {seq for mend in every_mend(case) if not set(unbled).isdisjoint(mend.opened) for seq in mend.cites}
    return not mended or any(mended.isdisjoint(detail.cites) for detail in one.details if detail.answer in OPEN)


def _bled_by(audit: Audit) -> str:
    passes = to_bleed(audit)
    return f"Bled in this job: {', '.join(passes)}." if passes else "No pass of that procedure opens it."


def spell(one: Finding, values: Mapping[str, Kept]) -> str:
    """Return a finding as the next job shows it; a person's own words on it stay with the job before."""
    text = ENTRY.sub("", one.text)
    for subject in {detail.subject for detail in one.details if len(detail.subject) > MOST_SIGNS}:
        text = text.replace(subject, shorten(subject, MOST_SIGNS, placeholder=" ..."))
    return f"{one.title} {one.answer}: {MARK.sub(lambda mark: _picked(mark[0], values), text)}"


def _picked(mark: str, values: Mapping[str, Kept]) -> str:
    """Return words that were picked from a list; own words are only said to be there."""
    words = values[mark].value if mark in values else None
    return words if isinstance(words, str) and words in PICKED else "(in words there)"


def left_open(audit: Audit) -> list[Finding]:
    """Return the findings that were not met, then those without proof."""
    found = [one for one in audit.findings if one.number not in OF_THE_RECORD]
    return [one for answer in OPEN for one in found if one.answer == answer]


def to_bleed(audit: Audit) -> list[str]:
    """Return the passes, planned or not, that bleed what was opened for a mend and is not shown bled after it."""
    return [one.id for one in bleeding(audit.case.procedure, left_unbled(audit.case))]


def to_flush(audit: Audit) -> list[str]:
    """Return every pass of the procedure where fluid was poured that is not the right one, or not fresh."""
    wrong = any(_poured(audit.case, one) for one in audit.findings)
    return [one.id for one in audit.case.procedure.passes] if wrong else []


def _poured(case: Case, one: Finding) -> bool:
    """Whether fluid was poured of which a finding says that it is not as it must be."""
    wrong = [min(detail.cites) for detail in one.details if detail.answer == "not met" and detail.cites]
    return one.id in OF_THE_FLUID and bool(wrong) and any(seq > min(wrong) for seq in poured_at(case))


def to_check(audit: Audit) -> list[str]:
    """Return the planned passes that the open findings name; all when they name none, and nothing is to be bled."""
    plan = [one.id for one in audit.case.plan]
    named = {
        detail.subject.partition(",")[0] for one in left_open(audit) for detail in one.details if detail.answer in OPEN
    }
    return [name for name in plan if name in named] or ([] if to_bleed(audit) else plan)
