"""What happened besides the visits and must stand on page one, also where no question has it as not met.

A case flows in, lines flow out: the reservoir ran empty, a nipple was left open in a pause, something was as the
program ended, or nobody knows how that ended, somebody went on with what was not as asked, a container was put away,
the fluid boils too early, the waste is less than came out, codes are still stored. Rules that hold here: nothing is
judged; each line names its entry; who went on is named with the reason that was given.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.fluid import fluid_test
from witnessmark.audit.fluid.containers import put_right
from witnessmark.audit.fluid.volumes import OUT, in_ml
from witnessmark.audit.grounds import unwatched
from witnessmark.audit.limits import band
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Act, Gauge, Opening
from witnessmark.journal import bodies
from witnessmark.procedure.words import DIMENSIONS
from witnessmark.range import Range, Sure
from witnessmark.report.lines import ending
from witnessmark.report.times import Times

AGAIN, GONE_ON = "passes-again", "air-accepted"
"""The steps by which a person says how it went on after the reservoir ran empty."""
ALLOWED = "mixing-allowed"
LABELS = ("fluid-grade", "fluid-class", "fluid-in-vehicle")
POURED = LABELS[:2]
WASTE_ML = 50
"""So much less waste than came out is named: a choice of this project, for what clings to hoses and bottles."""


def happened(case: Case, times: Times) -> list[str]:
    """Return a line for each thing, in the order of this list, each kind in the order of the journal."""
    left = (_left_open(case, times), _ended(case, times))
    kinds = (_empty(case, times), *left, _gone_on(case), _label(case), _tested(case), _waste(case))
    lines = [line for kind in kinds for line in kind] + codes_left(case)
    return [line[0].upper() + line[1:] for line in lines]


def left_so(case: Case, one: Gauge) -> str:
    """Return who left a reading of a pass as it was and why; empty where nobody said so before it was read again."""
    acts = [act for act in case.acts_at(one.pass_id) if act.step == one.step and act.seq > one.seq]
    kept = acts and acts[0].act == "confirmed" and acts[0].said and acts[0].nipple in ("", one.nipple)
    return f", left so{_by(acts[0])}" if kept else ""


def codes_stored(case: Case) -> list[str]:
    """Return the trouble codes that the last scan of each control unit found stored, each once."""
    return list(dict.fromkeys(code for _, body in _last_scans(case).values() for code in body.codes))


def codes_left(case: Case) -> list[str]:
    """Return a line for the trouble codes that the last scan of each control unit found stored."""
    lines = []
    for name, (seq, body) in _last_scans(case).items():
        if body.codes:
            unit = name or case.procedure.control_unit or "control unit"
            count = "trouble code" if len(body.codes) == 1 else "trouble codes"
            lines.append(f"{count} still stored at the last scan: {listing(body.codes)} ({unit}; entry {seq})")
    return lines


def _last_scans(case: Case) -> dict[str, tuple[int, bodies.CodeScan]]:
    """Return the last scan of each control unit, where it was one after the work."""
    last = {body.control_unit: (seq, body) for seq, body in case.all_of(bodies.CodeScan)}
    return {name: found for name, found in last.items() if found[1].when == "after"}


def _empty(case: Case, times: Times) -> Iterator[str]:
    acts = case.timeline.acts
    said = {act.seq: act for act in acts if act.step in unwatched.RAN_EMPTY and act.done}
    for act in said.values():
        where = f" at {act.pass_id}" if act.pass_id else ""
        then = next((one for one in acts if one.step in (AGAIN, GONE_ON) and one.seq > act.seq), None)
        later = any(act.seq < seq < then.seq for seq in said) if then else False
        decided = f"; {_decided(then)}" if then is not None and not later else ""
        if (back := unwatched.taken_back(case, act)) is not None:
            seen = "a look after it found fluid" if unwatched.slipped(case, act) else "no look after it settles that"
            decided = f"; taken back as a slip (entry {back}), and {seen}"
        yield f"the reservoir ran empty{where}, said {times.text(act.at)} (entry {act.seq}){decided}"


def _decided(then: Act) -> str:
    if then.step == GONE_ON:
        return f"gone on all the same{_by(then)}"
    return f"the passes begun were to be done again, as {then.done_by.partition(':')[2]} said"


def _left_open(case: Case, times: Times) -> Iterator[str]:
    for act in case.timeline.acts:
        if act.step != unwatched.LEFT_OPEN or not act.done:
            continue
        fed = [one for one in case.feed_acts if one.seq < act.seq]
        under = ", the feed under pressure," if fed and fed[-1].affects == "pressurise" else ""
        mine = (one for one in case.timeline.openings_of(act.nipple, act.pass_id) if (one.opened or 0) < act.seq)
        end = next((one.open.end for one in mine if one.closed is not None and one.closed > act.seq), None)
        then = f"closed {times.text(end)}" if end is not None else "no entry closes it"
        name = f"nipple {case.nipple(act.nipple).name}" + (f" of {act.pass_id}" if act.pass_id else "")
        yield f"{name} was left open{under} as the job was paused, {times.text(act.at)} (entry {act.seq}); {then}"


def _ended(case: Case, times: Times) -> Iterator[str]:
    """Name each end of the program at which something stood open, and each of which no entry says how it came.

    What was said only afterwards to have been opened before, as on a cue, is named as its time then says.
    """
    for entry, body in case.read:
        if not isinstance(body, bodies.Left):
            continue
        at = case.clock.occurred(entry)
        late = [(one.nipple, _stood(one, at)) for one in case.timeline.openings if (one.opened or 0) > entry.seq]
        surely = dict.fromkeys((*body.open_nipples, *(one for one, sure in late if sure == "yes")))
        perhaps = dict.fromkeys(one for one, sure in late if sure == "maybe" and one not in surely)
        stood = [f"nipple {listing(case.nipple(one).name for one in surely)} open"] if surely else []
        stood += [f"nipple {listing(case.nipple(one).name for one in perhaps)} perhaps open"] if perhaps else []
        stood += ["the feed under pressure"] if body.pressurised else []
        if not stood and body.how != "unseen":
            continue
        when = times.text(at)
        if body.how == "unseen":
            when = f"between {times.clock(at.low)} and {times.clock(at.high)}"
        yield f"{ending(body)}{f', with {listing(stood)}' if stood else ''}, {when} (entry {entry.seq})"


def _stood(one: Opening, at: Range) -> Sure:
    """Whether a nipple was open then; one that may only have been opened after its earliest moment was not."""
    if one.open.start.low > at.low:
        return "no"
    return one.open.start.before(at) if one.closed is None else one.open.contains(at)


def _gone_on(case: Case) -> Iterator[str]:
    """Name what was read outside the passes, was not as asked, and was left so with a reason; see `left_so`."""
    for act in case.timeline.acts:
        if act.step == ALLOWED:
            yield f"fluids that never mix, gone on all the same{_by(act)} (entry {act.seq})"
        step = case.step(act.step)
        if step is None or act.pass_id or act.act != "confirmed" or not act.said:
            continue
        read = [one for one in case.timeline.gauges if one.step == act.step and one.seq < act.seq]
        if step.act == "read" and read:
            asked = f", asked {band(read[-1].low, read[-1].high)}" if read[-1].low or read[-1].high else ""
            what = f"{read[-1].what.replace('-', ' ')} {read[-1].amount}{asked}"
        elif step.affects in LABELS and not act.answer:
            what = f"{step.affects.replace('-', ' ')} {_answer(case, act)}"
        else:
            continue
        yield f"{what}: gone on all the same{_by(act)} (entry {act.seq})"


def _answer(case: Case, act: Act) -> str:
    said = [one.answer for one in case.timeline.acts if one.step == act.step and one.seq < act.seq and one.answer]
    asked = {"fluid-grade": case.procedure.fluid, "fluid-class": case.procedure.fluid_class}
    step = case.step(act.step)
    wanted = asked.get(step.affects, "") if step is not None else ""
    return (said[-1] if said else "not read off") + (f", asked {wanted}" if wanted else "")


def _label(case: Case) -> Iterator[str]:
    """Name what a container was read as before another label was read and any was poured: none of that went in."""
    labels = case.timeline.acts_affecting(*POURED)
    first = put_right(case, labels)
    kept = {(act.affects, act.answer) for act in labels if act not in first}
    read = [act for act in first if act.answer and (act.affects, act.answer) not in kept]
    if read:
        words = listing(dict.fromkeys(act.answer for act in read))
        which = spell(tuple(dict.fromkeys(act.seq for act in read)))
        why = "put away or misread, for a label was read anew before any was poured"
        yield f"a container was first read as {words} ({which}): {why}"


def _tested(case: Case) -> Iterator[str]:
    for one in fluid_test.tests(case):
        if one.above is False:
            least = f"the wet minimum of {one.fluid}, {one.least_c} degC"
            yield f"{one.of} boils at {one.amount}, below {least} (entry {one.seq})"


def _waste(case: Case) -> Iterator[str]:
    """Name waste that is less than what was drawn off and collected; what was drawn off only after it is named apart.

    That is not yet in it, as question 14 has it.
    """
    volumes = DIMENSIONS["volume"]
    waste = [one for one in case.timeline.readings("waste") if one.amount.unit in volumes]
    out = [one for what in OUT for one in case.timeline.readings(what) if one.amount.unit in volumes]
    after = [one for one in out if waste and one.what == "volume-drawn" and one.seq > waste[-1].seq]
    before = in_ml(out) - in_ml(after)
    if not waste or before - in_ml(waste) <= WASTE_ML:
        return
    came = f"{quantity.plain(before)} mL was drawn off and collected"
    put = f"{quantity.plain(in_ml(waste))} mL put away as waste (entry {waste[-1].seq})"
    later = f"; {quantity.plain(in_ml(after))} mL more was drawn off after that ({spell(one.seq for one in after)})"
    yield f"{came}, and {put}{later if after else ''}"


def _by(act: Act) -> str:
    return f" by {act.done_by.partition(':')[2]}{f': {act.said}' if act.said else ', no reason given'}"
