"""All that a sheet says, as plain values: what `--json` prints and the only thing the templates see.

An audit flows in. Rules that hold here: every time has its uncertainty, every finding its entries; each
commitment in a text is said by what lies beside; what is practice or invented says so; a job that is not released lists
what is open, one that is released what is open since; what was taken back is told among the entries and in the drawing
of them, and what was done is told without it. Values are text, whole numbers, true, false and null.
"""

from __future__ import annotations

from datetime import UTC, tzinfo
from typing import Any

from witnessmark.audit import ends
from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import looks_how_it_ran
from witnessmark.audit.run import Audit
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import NOT_RIGHT, Act
from witnessmark.audit.verdict import Finding, grouped
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry, leaf
from witnessmark.procedure.plan import parse_scope
from witnessmark.report.earlier import before, left_before
from witnessmark.report.exchanges import exchange
from witnessmark.report.fluid import fluid
from witnessmark.report.happened import codes_left, codes_stored, happened
from witnessmark.report.kept import Beside, corrections, seal
from witnessmark.report.kept import line as kept
from witnessmark.report.lines import line
from witnessmark.report.moments import passes, timeline
from witnessmark.report.not_part import not_asked, not_part, not_right, not_written, together
from witnessmark.report.outside import outside
from witnessmark.report.put_right import put_right
from witnessmark.report.read_now import counted, on_both, taken_back
from witnessmark.report.reads import reads
from witnessmark.report.refused import refused
from witnessmark.report.released import BY_RELEASE, release, since, tightened
from witnessmark.report.seen import OPEN, seen, where
from witnessmark.report.standing import standing
from witnessmark.report.times import Times
from witnessmark.report.unsaid import unsaid
from witnessmark.report.values import OF_THE_JOB, values
from witnessmark.report.worked import WORK, Worked, leaps, worked

FORMAT = "witnessmark-facts/1"
NOT_YET = {"open": "the work is not finished", "finished": "finished, and not released by the lead yet"}
"""What stands against a release in a state that does not say it itself."""
CROWDED = 15
"""With more open questions a statement only names those without proof: the sheet says of each what is missing."""
ALONE = Beside()
"""Nothing beside the entries: what a file alone can say."""


def facts(audit: Audit, *, zone: tzinfo = UTC, beside: Beside = ALONE) -> dict[str, Any]:
    """Return the facts of one audited job; times of day are printed in `zone`, `beside` is what lies by the entries."""
    case, held = audit.case, counted(audit.case)
    done = worked(held)
    times = Times(done.start, zone)
    exchanges = [exchange(one, times) for one in case.timeline.exchanges]
    corrected = corrections(case.entries, beside.say)
    named = _told_whole(audit)
    told = {
        "format": FORMAT,
        "job": _job(case, times, beside, done),
        "open": _open(audit, beside),
        "standing": standing(case),
        "before": {"job": before(case), "left": [] if _state(case)[0] == "released" else left_before(held)},
        "release": _release(audit, times, beside),
        "since": [_open_since(audit, one, beside) for one in since(audit)],
        "tightened": [_asked_open(audit, one, beside) for one in tightened(audit)],
        "vehicle": dict(case.opened.vehicle),
        "customer": case.opened.customer,
        "procedure": _procedure(case),
        "map": _map(case),
        "practice": _practice(case),
        "people": _people(case),
        "record": _record(case, beside),
        "policy": policy(case),
        "counts": audit.counts(),
        "findings": [_finding(one) for one in audit.findings],
        "passes": passes(held, times, corrected, audit.findings),
        "put_right": put_right(case, times, shown=True),
        "said_put_right": put_right(case, times, shown=False),
        "happened": on_both(case, lambda one: [*happened(one, times), *not_right(one, named)]),
        "refused": on_both(case, refused),
        "codes_left": on_both(case, codes_left),
        "codes_stored": on_both(case, codes_stored),
        "outside": on_both(case, lambda one: outside(one, named)),
        "not_part": on_both(case, lambda one: [*not_part(one), *not_asked(one, audit.findings)]),
        "unsaid": on_both(case, unsaid),
        "not_written": on_both(case, not_written),
        "taken_back": sorted(taken_back(case)),
        "taken_back_seen": _seen_and_taken_back(case),
        "corrected": [
            {"seq": entry.seq, "by_entry": one.seq, "text": one.text, "reason": one.reason, "by": one.by}
            for entry in case.entries
            if entry.kind in OF_THE_JOB
            for one in corrected.get(entry.seq, ())
        ],
        "values": values(case, times, beside.say),
        "fluid": fluid(held),
        "timeline": timeline(case, times, done.end),
        "exchanges": exchanges,
        "reads": reads(exchanges, _told(case)),
        "files": _files(case, beside),
        "entries": _entries(case, times, beside),
    }
    said: dict[str, Any] = beside.say(told)
    return said | {"not_part": together(said["not_part"])}


def _told_whole(audit: Audit) -> list[Finding]:
    """Return the open findings whose text every paper has: of many without proof a statement has only the names."""
    crowded = sum(one.answer in OPEN for one in audit.findings) > CROWDED
    return [one for one in audit.findings if one.answer == "not met" or (one.answer == "no proof" and not crowded)]


def _told(case: Case) -> dict[int, tuple[str, str]]:
    """What was found by each exchange that a condition rests on: its name and its value."""
    found = (body for _, body in case.all_of(bodies.Condition))
    return {body.exchange: (body.name, body.found) for body in found if body.exchange is not None}


def _job(case: Case, times: Times, beside: Beside, done: Worked) -> dict[str, Any]:
    state, why = _state(case)
    entered = [times.clock(one) for one in done.typed or ()]
    return {
        "id": case.entries[0].job,
        "shop": beside.origin or (sealed["origin"] if (sealed := seal(beside.note)) else ""),
        "title": case.opened.title,
        "scope": case.opened.scope,
        "asked": _asked(counted(case)),
        "grade": case.opened.grade,
        "link": case.opened.link,
        "complaint": case.opened.complaint,
        "state": state,
        "why": why,
        "released": state == "released",
        "released_by": _released_by(case) if state == "released" else "",
        "date": times.date(done.start),
        "zone": times.zone_name(done.start),
        "first": times.clock(done.start),
        "last": times.clock(done.end),
        "first_stamp": times.stamp(done.start),
        "last_stamp": times.stamp(done.end),
        "time_known": done.known,
        "entered": f"entered afterwards, {entered[0]} to {entered[1]}" if done.typed else "",
        "clocks": leaps(case),
    }


def _asked(case: Case) -> str:
    """The scope in words, and what was taken in besides."""
    scope = parse_scope(case.opened.scope)
    added = f"; taken in for a mend: {listing(one.id for one in case.added)}" if case.added else ""
    if scope.kind == "full":
        return (
            f"the whole procedure, {len(case.plan)} passes" if len(case.plan) != 1 else "the whole procedure, one pass"
        )
    if scope.kind == "nipples":
        return f"only {listing(case.nipple(name).name for name in scope.names)}{added}"
    return f"again after job {scope.follows}: {listing(scope.names)}{added}"


def _state(case: Case) -> tuple[str, str]:
    states = [body for _, body in case.all_of(bodies.State)]
    state, why = (states[-1].state, states[-1].why) if states else ("open", "")
    at = [one for one in case.entries if one.kind in ("handed-over", "moved")]
    gone = at[-1].body.get("to") if at and at[-1].kind == "handed-over" else None
    return state, f"it went to {gone}, and goes on there" if gone else why


def _released_by(case: Case) -> str:
    seq = case.all_of(bodies.State)[-1][0]
    return next(entry.done_by for entry in case.entries if entry.seq == seq).partition(":")[2]


def _open(audit: Audit, beside: Beside) -> list[dict[str, str]]:
    """What stands against a release: the state, runs nobody looked after, questions not met or without proof."""
    case = counted(audit.case)
    state, why = _state(case)
    if state == "released":
        return []
    inspected = {body.actuation for _, body in case.all_of(bodies.Inspection) if body.safe}
    unknown = [
        {
            "what": "no known end",
            "title": f"{run.wire_command} of {run.subject}",
            "text": f"{ends.spell(run) or 'nothing says whether it ran'}; "
            f"nobody recorded looking after it (entry {run.seq})",
        }
        for run in case.timeline.actuations
        if (run.outcome is None or run.outcome.result == "unknown") and run.seq not in inspected
    ]
    asked = [_asked_open(audit, one, beside) for answer in OPEN for one in audit.findings if one.answer == answer]
    title = NOT_YET.get(state, f"the job is {state}")
    return [{"what": "state", "title": title, "text": why}, *unknown, *asked]


def _asked_open(audit: Audit, one: Finding, beside: Beside) -> dict[str, Any]:
    """Return an open question as the papers list it."""
    at = {"at": words} if (words := where(audit.case, one)) else {}
    return {"what": one.answer, "title": one.title, "text": one.text, **at, **_seen(audit, one, beside)}


def _open_since(audit: Audit, one: Finding, beside: Beside) -> dict[str, Any]:
    """Return what was opened after the release, with whose tolerances it is found by where they are not the paper's."""
    by = {"by": BY_RELEASE} if one.number in audit.by_release else {}
    return {**_asked_open(audit, one, beside), "number": one.number, "cites": list(one.cites), **by}


def _release(audit: Audit, times: Times, beside: Beside) -> dict[str, Any] | None:
    """Return the release, each question that it accepted with what was seen where somebody looked."""
    told, asked = release(audit.case, times), {one.number: one for one in audit.findings}
    for one in told["accepted"] if told is not None else ():
        found = asked.get(one["number"])
        one |= _seen(audit, found, beside) if found is not None else {}
    return told


def _seen_and_taken_back(case: Case) -> list[dict[str, Any]]:
    """Return each look that was not right and was taken back, in its own words: it counts no more, and was seen."""
    return [
        {"seq": act.seq, "text": f"{_asked_at(case, act)} {act.said or NOT_RIGHT}"}
        for act in case.timeline.acts
        if act.looked and act.seq in taken_back(case)
    ]


def _asked_at(case: Case, act: Act) -> str:
    text = case.step_text(act.step) or act.step.replace("-", " ")
    return f"{', '.join(part for part in (act.pass_id, text) if part).rstrip('.?:')}:"


def _seen(audit: Audit, found: Finding, beside: Beside) -> dict[str, str]:
    said = seen(audit, found, beside.say)
    return {"seen": said} if said else {}


def _procedure(case: Case) -> dict[str, Any]:
    one = case.procedure
    return {
        "id": one.id,
        "title": one.title,
        "source": one.source,
        "vehicle": one.vehicle,
        "invented": one.invented or case.opened.invented,
        "digest": case.opened.procedure_digest,
        "control_unit": one.control_unit,
        "fluid": one.fluid,
        "fluid_class": one.fluid_class,
        "cautions": list(one.cautions),
        "physical_fallback": one.physical_fallback,
    }


def _map(case: Case) -> dict[str, Any] | None:
    one = case.opened.map
    if one is None:
        return None
    return {
        "id": one.get("id", ""),
        "title": one.get("title", ""),
        "source": one.get("source", ""),
        "invented": bool(one.get("invented")),
        "digest": case.opened.map_digest,
    }


def _practice(case: Case) -> dict[str, Any] | None:
    rate = max(entry.recorded.rate for entry in case.entries)
    return None if rate == 1 else {"rate": rate}


def _people(case: Case) -> list[dict[str, Any]]:
    """Who did what: each person and part of the machine, whether any is work, and who keyed how much of it in."""
    counts: dict[str, int] = {}
    for entry in case.entries:
        counts[entry.done_by] = counts.get(entry.done_by, 0) + 1
    keyed: dict[str, dict[str, int]] = {}
    for entry in case.entries:
        if entry.entered_by != entry.done_by:
            by = keyed.setdefault(entry.done_by, {})
            by[entry.entered_by] = by.get(entry.entered_by, 0) + 1
    active = {entry.done_by for entry in case.entries if entry.kind in WORK}
    return [
        {
            "id": name.partition(":")[2],
            "what": name.partition(":")[0],
            "entries": count,
            "worked": name in active,
            "keyed_in": [
                {"by": one.partition(":")[2], "entries": many} for one, many in sorted(keyed.get(name, {}).items())
            ],
        }
        for name, count in sorted(counts.items(), key=lambda pair: (not pair[0].startswith("person:"), pair[0]))
    ]


def policy(case: Case) -> dict[str, Any]:
    """By whose policy the questions were answered: its digest, each value that differs, and both in one line."""
    differs = [
        {"name": name, "value": value, "standing": standing} for name, (value, standing) in case.policy.set_to.items()
    ]
    return {"digest": case.policy.digest, "differs": differs, "text": case.policy.said}


def _record(case: Case, beside: Beside) -> dict[str, Any]:
    last = case.entries[-1]
    checked = case.integrity
    return {
        "count": beside.count or len(case.entries),
        "head": beside.head or leaf(last).hex(),
        "verdict": checked.verdict if checked else "not checked",
        "text": checked.text if checked else "the record was not checked when this was made",
        "seal": seal(beside.note),
        "bays": list(beside.bays),
    }


def _files(case: Case, beside: Beside) -> list[dict[str, Any]]:
    """Each attached file as it entered, and how it stands where somebody could look."""
    return [
        {
            "seq": entry.seq,
            "name": str(entry.body.get("name")),
            "shows": str(entry.body.get("shows")),
            "sha256": str(entry.body.get("sha256")),
            "state": beside.files.get(str(entry.body.get("sha256")), "not looked at"),
            "target": entry.body.get("target"),
            "not_shown": _not_shown(str(entry.body.get("sha256")), beside),
        }
        for entry in case.of_kind("attachment")
    ]


def _not_shown(digest: str, beside: Beside) -> str:
    """Return why the picture itself cannot be shown, empty where it can."""
    if digest in beside.photos:
        return beside.photos[digest].why
    return "the file lies with the shop's journal, and this was made without it"


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "number": one.number,
        "id": one.id,
        "title": one.title,
        "answer": one.answer,
        "text": one.text,
        "cites": list(one.cites),
        "grouped": [
            {"answer": answer, "subjects": subjects, "text": text} for answer, subjects, text in grouped(one.details)
        ],
        "details": [
            {"subject": part.subject, "answer": part.answer, "text": part.text, "cites": sorted(set(part.cites))}
            for part in one.details
        ],
    }


def _entries(case: Case, times: Times, beside: Beside) -> list[dict[str, Any]]:
    listed, ran = [], looks_how_it_ran(case.procedure)

    def said(entry: Entry) -> str:
        return line(entry.kind, case.bodies.get(entry.seq), entry.done_by, case.opened.earlier, ran)

    rests = {seq: body.exchange for seq, body in case.all_of(bodies.Condition)}
    corrected = corrections(case.entries, beside.say)
    for entry in case.entries:
        beside_it = case.clock.beside(entry)
        listed.append(
            {
                "seq": entry.seq,
                "at": times.text(case.clock.told(entry)),
                "entered": times.clock(entry.recorded.wall_ns if beside_it else case.clock.recorded(entry)),
                "another_clock": beside_it,
                "late_ms": max(0, (case.clock.recorded(entry) - case.clock.occurred(entry).high) // 1_000_000),
                "basis": entry.occurred.basis,
                "kind": entry.kind,
                "by": entry.done_by.partition(":")[2],
                "entered_by": entry.entered_by.partition(":")[2],
                "text": kept(entry, beside) or said(entry),
                "rests_on": rests.get(entry.seq),
                "corrected": [
                    {"seq": one.seq, "text": one.text, "reason": one.reason, "by": one.by}
                    for one in corrected.get(entry.seq, ())
                ],
            }
        )
    return listed
