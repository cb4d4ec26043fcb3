"""The release gate: what is open keeps it shut.

A job's dossier is audited; out flow what holds the release and, when nothing does, the entry that releases. Rules that
hold here: a job that is not finished, a run whose end nobody knows, what another job left open on the vehicle and a
record that is not as it was written can be accepted by nobody; a question not met or without proof can be accepted by
its number, with a reason, and the entry and every sheet say so; one that the procedure leaves out holds nothing and is
named; only a lead releases, or whom the shop names in `release.toml`; where no people file says who is a lead, a name
alone releases, but never the name of somebody who did work in the bay; a release after which a correction, or
another policy of the shop, opened something is given anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from witnessmark.audit.run import Audit
from witnessmark.audit.verdict import Finding
from witnessmark.document import lines
from witnessmark.document.mistake import refuse
from witnessmark.document.shape import fit
from witnessmark.document.toml import read_toml
from witnessmark.errors import InputError, LocalError
from witnessmark.host import acting, dossier, looking, other_jobs
from witnessmark.host.acting import Acting
from witnessmark.host.history import history
from witnessmark.host.shop import Shop
from witnessmark.journal import bodies, finding, moving
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import JobHead
from witnessmark.people.person import Person
from witnessmark.report.read_now import counted
from witnessmark.report.released import INTEGRITY, since, spell, tightened

NAMED = "release.toml"


class Named(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What stands in the shop's file: the ids of those who may release beside a lead, like `["t-otter"]`."""

    may_release: tuple[str, ...] = ()


NOT_FINISHED = "the job is {}, not finished"
RELEASE = 37
"""The question that the release itself answers."""


@dataclass(frozen=True, slots=True)
class Gate:
    """What stands against a release: `shut` can be accepted by nobody, `held` by its number.

    `left_out` names each question that the procedure leaves out, with its reason: it does not stand against it.
    `already` says whether the job is released, `again` what was opened since, or is by other tolerances: it is anew.
    """

    shut: tuple[str, ...]
    held: tuple[Finding, ...]
    left_out: tuple[str, ...] = ()
    already: bool = False
    again: tuple[Finding, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        return (*self.shut, *(spell(one) for one in self.held))

    @property
    def lasting(self) -> tuple[str, ...]:
        """What keeps it shut though the job be finished."""
        before, after = NOT_FINISHED.split("{}")
        return tuple(one for one in self.shut if not (one.startswith(before) and one.endswith(after)))


def gate(shop: Shop, job: str) -> Gate:
    """Return what stands against the release of a job. Raises InputError when there is no such job."""
    with shop.read() as journal:
        left = other_jobs.against(journal, job)
    return with_others(gate_of(dossier.of_job(shop, job).audited().audit), left)


def with_others(found: Gate, left: Sequence[str]) -> Gate:
    """Return the gate with what other jobs left open on the vehicle, which nobody can accept."""
    return replace(found, shut=(*found.shut, *left))


def gate_of(audit: Audit) -> Gate:
    """Return what stands against a release by the findings and the state of a job."""
    case = counted(audit.case)
    states = [body.state for _, body in case.all_of(bodies.State)]
    state = states[-1] if states else "open"
    already = state == "released"
    again = (*since(audit), *tightened(audit))
    shut = [] if state == "finished" or again else [NOT_FINISHED.format(state)]
    looked = {body.actuation: body.safe for _, body in case.all_of(bodies.Inspection)}
    for run in case.timeline.actuations:
        if looked.get(run.seq) is False:
            shut.append(f"who looked last after {run.wire_command} of {run.subject} did not find it safe")
        elif (run.outcome is None or run.outcome.result == "unknown") and run.seq not in looked:
            shut.append(f"nobody knows how {run.wire_command} of {run.subject} ended, and nobody looked")
    found = [one for one in audit.findings if one.answer in ("not met", "no proof") and one.number != RELEASE]
    shut += [spell(one) for one in found if one.number == INTEGRITY and one.answer == "not met"]
    why = {one.question: one.why for one in case.procedure.leaves_out}
    left = (one for one in audit.findings if str(one.number) in why)
    left_out = tuple(f"{one.number} {one.title} left out by the procedure: {why[str(one.number)]}" for one in left)
    held = tuple(one for one in found if one.number != INTEGRITY)
    return Gate(tuple(shut), held, left_out, already, again)


def releaser(shop: Shop, job: str, by: str, pin: Callable[[], str]) -> Acting:
    """Return who may release: a lead, or a person named in the shop's `release.toml`. Raises LocalError otherwise.

    Without a people file nobody is on record as a lead: then whom the shop names, and where it names nobody, any id
    that did no work in this bay or on this job.
    """
    names = named(shop.folder)
    if acting.register(shop):
        return acting.signed(shop, by, pin, whole=True) if by in names else acting.lead(shop, by, "release a job", pin)
    if by in names:
        return Acting(Person(by), "name only")
    with shop.read() as journal:
        worked = job if looking.worked_at(history(journal, job), by) else finding.worked_on(journal, Person(by).actor)
    why = f"{NAMED} does not name {by}" if names else f"{by} did work on job {worked}" if worked else ""
    if why:
        said = f"only a lead, or whom the shop names, may release a job: nobody is on record as a lead, and {why}"
        raise LocalError(
            said, hint=f"set the lead's PIN: `witnessmark person add ID --role lead`; or name who may in {NAMED}"
        )
    return Acting(Person(by, "lead"), "name only")


def named(folder: Path) -> tuple[str, ...]:
    """Return the ids in `may_release` of the shop's file; nobody when there is none. Raises InputError."""
    try:
        text = (folder / NAMED).read_text(encoding="utf-8")
        fitted, mistakes = fit(read_toml(text, NAMED), Named)
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError, RecursionError) as error:
        raise InputError(f"it cannot be read: {error}", place=NAMED, hint="write a plain text file, UTF-8") from error
    found = lines.lines(text)
    refuse(NAMED, mistakes, lambda path: lines.line_of(path, found))
    return msgspec.convert(fitted, Named).may_release


@dataclass(frozen=True, slots=True)
class Ready:
    """A job that nothing keeps from its release: as it was audited up to `head`, with the reason `why`."""

    job: str
    gate: Gate
    policy: str
    why: str
    head: JobHead


def ready(shop: Shop, job: str, *, accept: Sequence[int] = (), why: str = "") -> Ready:
    """Return a job as it may be released. Raises LocalError listing what keeps the gate shut."""
    with shop.read() as journal:
        moving.check_here(journal, job)
        head, left = journal.job_head(job), other_jobs.against(journal, job)
    kept = dossier.of_job(shop, job)
    found = with_others(gate_of(kept.audited().audit), left)
    held = [one for one in found.held if one.number not in accept]
    if found.already and not found.again:
        against = kept.beside.say([*found.lasting])
        more = "".join(f"\n  {one}" for one in against)
        what = f"job {job} is released already{'; what stands against it all the same:' if more else ''}{more}"
        hint = f"how the vehicle stands: witnessmark tag {job}; a correction that opens something is released anew"
        raise InputError(what, place="job release", hint=hint)
    unknown = [number for number in accept if number not in {one.number for one in found.held}]
    every = f"--accept {','.join(str(one.number) for one in found.held)} --why ..."
    if unknown:
        hint = f"what holds the release, all of it: {every}" if found.held else "leave --accept out"
        shut = any(one.startswith(f"{unknown[0]} ") for one in found.shut)
        how = "can be accepted by nobody" if shut else "holds nothing"
        known = "; the job is released already" if found.already else ""
        opened = kept.beside.say([spell(one) for one in found.again])
        known += "".join([", and open again:", *(f"\n  {one}" for one in opened)]) if opened else ""
        raise InputError(f"question {unknown[0]} {how}{known}", place="--accept", hint=hint)
    if found.shut or held:
        shown = kept.beside.say([*found.shut, *map(spell, held), *found.left_out])
        lines = "\n".join(f"  {line}" for line in shown)
        abandoned = any(" abandoned" in line for line in found.shut)
        hint = f"open a job that goes on with it: --scope 'follows {job}'" if abandoned else "put it right"
        if left and len(found.shut) == len(left):
            hint = "close it and let it off in that job, or in a new one on this vehicle, which asks for it first"
        if held and not found.shut:
            hint = f"put it right, or accept all of it with a reason: witnessmark job release {job} {every}"
        raise LocalError(f"NOT RELEASED: DO NOT DRIVE. Open:\n{lines}", hint=hint)
    if accept and not why.strip():
        raise InputError("what is accepted needs a reason", place="--why", hint="say why in a few words")
    return Ready(job, found, kept.policy.said, why.strip(), head)


def release(shop: Shop, who: Acting, what: Ready) -> Entry:
    """Write that a job is released. Raises LocalError where something was written since it was ready.

    What was accepted stands in the entry with the commitments that its findings hold, so that erasing covers it.
    """
    body = bodies.State(
        state="released",
        why=what.why,
        accepted=tuple(spell(one) for one in what.gate.held),
        proven=who.proven,
        may_release=named(shop.folder),
        policy=what.policy,
    )
    draft = Draft("state", what.job, who.person.actor, body=bodies.to_body(body))
    with shop.beside(what.job, "job release") as journal:
        if journal.job_head(what.job) != what.head or other_jobs.against(journal, what.job):
            raise LocalError("something was written meanwhile", hint="look at what is open once more, then release")
        return journal.append(draft)
