"""The timeline and the passes as plain values, for the drawing and for the table of what was done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import SILENT, UNEXPLAINED, UNWRITTEN, Case
from witnessmark.audit.fluid.bottles import into
from witnessmark.audit.fluid.volumes import mixed
from witnessmark.audit.grounds.asked import is_how_it_ran
from witnessmark.audit.grounds.visits import Visit, pressure_band, visits
from witnessmark.audit.limits import band, inside
from witnessmark.audit.questions.duration import LONGER, too_long
from witnessmark.audit.timeline import Act, Actuation, Gauge, Opening, Timeline
from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.procedure.model import Limit
from witnessmark.procedure.words import DIMENSIONS
from witnessmark.range import Span
from witnessmark.report import attempts, lines, redone
from witnessmark.report.against import marks, unread
from witnessmark.report.earlier import item, said_of
from witnessmark.report.happened import left_so
from witnessmark.report.kept import Correction
from witnessmark.report.lines import HOW_IT_RAN, step_name
from witnessmark.report.read_again import counts_instead, words
from witnessmark.report.read_now import Now, amount, counted, read_now, taken_back
from witnessmark.report.times import Times, vague
from witnessmark.report.witness import witness

Corrected = Mapping[int, Sequence[Correction]]
"""The corrections of each entry by its `seq`."""


def timeline(case: Case, times: Times, end: int) -> dict[str, Any]:
    """Return the lanes of the drawing up to `end` (ns); every moment in ms since the start of the job."""
    line, now = case.timeline, read_now(case)
    told, counts = _told(line), _counts(case)
    wide = [at for at in (*(one.at for one in told), *(one.at for one in line.gauges)) if vague(at)]
    wide += [end for span in _spans(line) for end in (span.start, span.end) if vague(end)]
    return {
        "not_drawn": _not_drawn(len(wide)),
        "end_ms": times.ms(end),
        "start_clock": times.clock(times.start),
        "nipples": [{"id": one.id, "name": one.name} for one in _nipples(case)],
        "openings": [_opening(one, times, counts) for one in line.openings],
        "runs": [_run(one, case, times, counts) for one in line.actuations],
        "pressurised": [{**times.span(span), "cites": list(cites)} for span, cites in line.pressurised],
        "pressure": _pressure(case, times),
        "ended": [
            {"seq": one.seq, "text": lines.line(one.kind, body), "at": times.moment(case.clock.occurred(one))}
            for one, body in case.read
            if isinstance(body, bodies.Left) and body.how != "left"
        ],
        "readings": [{**_reading(one, times, now), "taken_back": one.seq in taken_back(case)} for one in line.gauges],
        "steps": [
            {
                "seq": act.seq,
                "taken_back": act.seq in taken_back(case),
                "step": act.step,
                "text": _named(case, act),
                "act": act.act,
                "how": _how(act),
                "pass": act.pass_id,
                "affects": act.affects,
                "said": "" if act.step in (UNWRITTEN, UNEXPLAINED) else act.mended or act.answer or act.said,
                "by": act.done_by.partition(":")[2],
                "at": times.moment(act.at),
            }
            for act in told
        ],
    }


def _spans(line: Timeline) -> list[Span]:
    """Return the openings and the runs of a timeline as spans."""
    return [*(one.open for one in line.openings), *(one.ran for one in line.actuations if one.ran is not None)]


def _not_drawn(count: int) -> str:
    """Return in words how many moments have no place on the axis, empty for none."""
    if not count:
        return ""
    moments = say.counted(count, "moment", "moments")
    return f"Of {moments} only the day is known: not drawn, or drawn as open to where it may have been."


def _named(case: Case, act: Act) -> str:
    """Return a step in words; of what a card leaves empty what that is."""
    if act.step == UNWRITTEN:
        what = {"open": "opening", "close": "closing", "run": "the run"}.get(act.answer) or case.step_text(act.answer)
        return what or step_name(act.answer)
    if act.step == UNEXPLAINED:
        return f"{case.step_text(act.answer) or step_name(act.answer)}: {step_name(act.step)}"
    step = case.step(act.step)
    if step is not None and is_how_it_ran(step, act):
        return f"{step.text}: {HOW_IT_RAN}"
    return case.step_text(act.step) or step_name(act.step, case.opened.earlier)


def _how(act: Act) -> str:
    """Return in a word or two how a step was done, or what was said of what the job before left open."""
    if act.step in (UNWRITTEN, UNEXPLAINED):
        return SILENT
    return said_of(act.act, act.said) if item(act.step, ()) and not act.looked else act.how


def _told(line: Timeline) -> list[Act]:
    """Each manual step once: not what a nipple or a reading says already, nor what one touch said besides."""
    told = {one.seq: one for one in reversed(line.acts) if one.act not in ("opened", "closed", "read")}
    read = {one.seq for one in line.gauges}
    return [one for seq, one in sorted(told.items()) if seq not in read]


def _nipples(case: Case) -> list[Any]:
    """The nipples of the plan in their order, then any other that was touched."""
    names = [name for one in case.plan for name in one.nipples] + [one.nipple for one in case.timeline.openings]
    return [case.nipple(name) for name in dict.fromkeys(names)]


def _counts(case: Case) -> frozenset[int]:
    """Return the entries of the runs and the openings that page one gives times of."""
    judged = visits(counted(case))
    runs = {one.run.seq for one in judged if one.run is not None}
    return frozenset(runs.union(*(opening.cites for one in judged for opening in one.openings)))


def _opening(one: Opening, times: Times, counts: frozenset[int]) -> dict[str, Any]:
    return {
        "nipple": one.nipple,
        "pass": one.pass_id,
        **times.span(one.open),
        "opened": one.opened is not None,
        "closed": one.closed is not None,
        "on_cue": one.on_cue,
        "counts": not counts.isdisjoint(one.cites),
        "cites": list(one.cites),
    }


def _run(run: Actuation, case: Case, times: Times, counts: frozenset[int]) -> dict[str, Any]:
    result = run.outcome.result if run.outcome else "no outcome"
    return {
        "seq": run.seq,
        "pass": run.pass_id,
        "wire_command": run.wire_command,
        "words": str(case.wire_command(run.wire_command).get("words", run.wire_command)),
        "grade": run.grade,
        "witness": witness(case, run),
        "taken_back": run.seq in taken_back(case),
        "result": result,
        "stop": _stop(run),
        "began": run.began,
        "counts": run.seq in counts,
        "asked": times.moment(run.asked),
        "ran": None if run.ran is None else times.span(run.ran),
        "cites": list(run.cites),
    }


def _stop(run: Actuation) -> str:
    """How it stands with the stop; of a run that a person told of nothing was confirmed, it was only said."""
    if run.outcome is None:
        return "unknown"
    return "said" if run.grade == "told" and run.outcome.stop == "confirmed" else run.outcome.stop


def _reading(one: Gauge, times: Times, now: Now) -> dict[str, Any]:
    return {
        "seq": one.seq,
        "what": one.what,
        "amount": str(one.amount),
        "corrected_to": str(now.get(one.seq, "")),
        "pass": one.pass_id,
        "instrument": one.instrument,
        "asked": _asked(one),
        "outside": _outside(one, {}),
        "corrected_outside": one.seq in now and _outside(one, now),
        "by": one.done_by.partition(":")[2],
        "at": times.moment(one.at),
    }


def _said(one: Gauge, now: Now) -> str:
    """Return what was read, as corrected where it was, and then what was first entered."""
    return f"{one.what.replace('-', ' ')} {amount(one, now)}"


def _asked(one: Gauge) -> str:
    return band(one.low, one.high) if one.low or one.high else ""


def _outside(one: Gauge, now: Now) -> bool:
    """Say whether a reading lies outside the band that it was read for, as first entered or as corrected."""
    return not all(_within(one, amount) for amount in (one.amount, now.get(one.seq, one.amount)))


def _within(one: Gauge, amount: quantity.Quantity) -> bool:
    """Say whether an amount lies in the band of a reading; it does where their units cannot be compared."""
    try:
        return inside(amount, Limit(low=one.low, high=one.high))
    except InputError:
        return True


def _pressure(case: Case, times: Times) -> dict[str, Any] | None:
    """The feed's pressure in one unit: points, and the band asked before a pass. Thousandths, so whole numbers."""
    read = case.timeline.readings("feed-pressure")
    gauges = [one for one in read if one.amount.unit in DIMENSIONS["pressure"]]  # another has no place on its scale
    if not gauges:
        return None
    asked = pressure_band(case)
    given = asked.high or asked.low
    unit = quantity.parse(given, place="limit").unit if given else gauges[0].amount.unit

    def thousandths(amount: quantity.Quantity) -> int:
        return round(quantity.convert(amount, unit) * 1000)

    ends = [thousandths(quantity.parse(text, place="limit")) if text else None for text in (asked.low, asked.high)]
    points = [
        {
            "seq": one.seq,
            "pass": one.pass_id,
            "at": times.moment(one.at),
            "milli": thousandths(one.amount),
            "text": str(one.amount),
        }
        for one in gauges
    ]
    return {
        "unit": unit,
        "low_milli": ends[0],
        "high_milli": ends[1],
        "asked": band(asked.low, asked.high),
        "points": points,
    }


def passes(case: Case, times: Times, corrected: Corrected, findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return what was done on each planned visit, in the planned order, as first written and as corrected.

    `findings` are the audit's: what is not met of a visit stands beside it in their words.
    """
    now = read_now(case)
    return [_visit(case, one, times, corrected, now) | marks(findings, case, one) for one in visits(case)]


def _corrected(case: Case, one: Visit, corrected: Corrected) -> list[dict[str, Any]]:
    """Each correction of an entry that the visit's lines rest on; they themselves say what was first written."""
    mine = (gauge for gauge in case.timeline.gauges if gauge.pass_id == one.id)
    gauges = [*([one.pressure] if one.pressure else []), *mine, *one.fed]
    runs = [*([one.run] if one.run else []), *one.others]
    cites = {gauge.seq for gauge in gauges} | {seq for part in (*one.openings, *one.apart) for seq in part.cites}
    cites |= {seq for run in runs for seq in run.cites} | {
        act.seq for act in case.timeline.acts if act.pass_id == one.id
    }
    return [
        {"seq": seq, "by_entry": made.seq, "text": made.text, "reason": made.reason, "by": made.by}
        for seq in sorted(cites & corrected.keys())
        for made in corrected[seq]
    ]


def _read(case: Case, one: Visit, gauge: Gauge, now: Now) -> str:
    """Return what was read on a visit; of a bottle also whose fluid it holds besides."""
    if gauge.what != "volume":
        return _said(gauge, now) + _where(case, one, gauge)
    if gauge.seq in case.timeline.misread:
        return _said(gauge, now) + _misread(case, gauge)
    ran = dict.fromkeys(opening.pass_id for opening in into(case, one.id, gauge.seq))
    others = [name for name in (mixed(case, one.id) if set(ran) - {one.id} else ()) or ran if name != one.id]
    return f"{_said(gauge, now)}, with {say.listing(others)}'s" if others else _said(gauge, now)


def _misread(case: Case, gauge: Gauge) -> str:
    """Say who says that a volume was misread, and counts no more; empty where nobody does."""
    found = case.timeline.misread.get(gauge.seq)
    return "" if found is None else f", misread as {found[1].done_by.partition(':')[2]} says: it does not count"


def _earlier(case: Case, one: Visit, now: Now) -> list[str]:
    """Return a line of what was read at another attempt than the one that counts, one of looks, one of the feed.

    A look at the reservoir beside a pass is none of its attempts. Each is judged as it was corrected.
    """
    looks = [it for it in one.earlier if it.what == "level"]
    kinds = {
        "read at another attempt": [it for it in one.earlier if it not in looks],
        "the reservoir was looked at besides": looks,
        "read for another opening": [it for it in one.fed if it.seq in now or not _within(it, it.amount)],
    }
    return [
        f"{words}: {', '.join(_judged(case, one, it, now) for it in kind)}" for words, kind in kinds.items() if kind
    ]


def _judged(case: Case, one: Visit, gauge: Gauge, now: Now) -> str:
    within = _within(gauge, now.get(gauge.seq, gauge.amount))
    return _read(case, one, gauge, now) + ("" if within else ", outside its limits")


def _where(case: Case, one: Visit, gauge: Gauge) -> str:
    """Say at which nipple it was read, where a visit has several."""
    return f" at {case.nipple(gauge.nipple).name}" if gauge.nipple and len(one.nipples) > 1 else ""


def _not_within(case: Case, one: Visit, gauge: Gauge, now: Now) -> str:
    """Return in words that a reading lies outside its band, and which counts where it was read again; else empty."""
    if not _outside(gauge, now):
        return ""
    last = counts_instead(one.readings, gauge)
    left = _misread(case, gauge) or left_so(case, gauge)
    again = words(case, gauge, last, amount(last, now)) if last is not None else left
    return f"{_said(gauge, now)}{_where(case, one, gauge)}, asked {_asked(gauge)}{again}"


def _stands(one: Visit, gauge: Gauge, now: Now) -> bool:
    """Whether what was read outside its band is marked: not where it was read within it again."""
    last = counts_instead(one.readings, gauge)
    return last is None or _outside(last, now)


def _asks_pressure(case: Case, one: Visit) -> bool:
    """Whether the feed's pressure is asked before a visit: by its pass, or by a step before each."""
    steps = any(step.what == "feed-pressure" for step in case.procedure.steps_before_each_pass)
    return steps or case.passes[one.id].pressure is not None


def _too_long(case: Case, one: Visit) -> list[str]:
    """Return in words that the run lasted longer than asked; nothing where it did not."""
    planned = case.passes[one.id]
    if one.run is None or one.run.ran is None or not too_long(one.run, planned):
        return []
    lasted = say.length(one.run.ran.length())
    return [f"ran {lasted}, {LONGER}: {planned.seconds} within {planned.seconds_tolerance}"]


def _visit(case: Case, one: Visit, times: Times, corrected: Corrected, now: Now) -> dict[str, Any]:
    opened = one.openings[0] if one.openings and one.openings[0].opened is not None else None
    open_for = one.open_for()
    return {
        "id": one.id,
        "nipples": list(one.nipples),
        "opened": times.text(opened.open.start) if opened else "no entry",
        "open_for": "; ".join(map(say.length, open_for)) if open_for else "not known" if one.openings else "no entry",
        "wire_command": one.wire_command,
        "asked": one.seconds,
        "ran": attempts.ran(one),
        "others": [
            *attempts.others(case, one, times),
            *redone.again(case, one),
            *_earlier(case, one, now),
            *(
                text
                for gauge in one.readings
                if (text := _not_within(case, one, gauge, now)) and not _stands(one, gauge, now)
            ),
        ],
        "attempts": (every := attempts.facts(one) or attempts.by_hand(case, one, times)),
        "several": len(every) > 1,
        "end_unknown": attempts.end_unknown(one),
        "grade": one.run.grade if one.run else "",
        "witness": witness(case, one.run) if one.run else "",
        "pressure": str(now.get(one.pressure.seq, one.pressure.amount)) if one.pressure else "",
        "pressure_asked": _asks_pressure(case, one),
        "pressure_first": str(one.pressure.amount) if one.pressure and one.pressure.seq in now else "",
        "pressure_outside": one.pressure is not None
        and not _within(one.pressure, now.get(one.pressure.seq, one.pressure.amount)),
        "readings": [_read(case, one, gauge, now) for gauge in one.readings] + unread(case, one),
        "outside": [
            text
            for gauge in (*([one.pressure] if one.pressure else []), *one.readings)
            if (text := _not_within(case, one, gauge, now)) and _stands(one, gauge, now)
        ]
        + _too_long(case, one),
        "closed": one.closed,
        "corrected": _corrected(case, one, corrected),
    }
