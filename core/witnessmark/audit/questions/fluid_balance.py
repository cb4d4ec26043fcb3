"""14: enough fluid, and does it balance? Volumes per visit where asked; filled less what came out is the rise.

Of a visit that was to be done again only what ran since is held to what is asked; in the sums all of it counts.
A filling of which nobody read how much went in, and a waste container that holds less than what came out (common
practice, no source: all of it goes in there), leave the sums without proof.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell as spell_entries
from witnessmark.audit.fluid.bottles import end_of, lost, was_read
from witnessmark.audit.fluid.volumes import (
    OUT,
    balance,
    counting,
    impossible,
    in_ml,
    mixed,
    ran_before,
    through,
    volumes,
)
from witnessmark.audit.grounds.void import void
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Gauge, by
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Limit, Pass
from witnessmark.quantity import Quantity


def answer(case: Case) -> Verdict:
    asked = [one for one in case.plan if one.volume]
    tolerance = case.procedure.balance_tolerance
    if not asked and not tolerance:
        return does_not_apply("the procedure asks for no volumes")
    details = [_visit(case, one) for one in asked]
    if tolerance:
        details.append(_balance(case, tolerance))
    fine = "enough ran through at each visit" if asked else ""
    if tolerance:
        fine += f"{', and ' if fine else ''}what went in balances what came out"
    verdict = from_details(details, fine)
    said, cites = [], verdict.cites
    for one, act in case.timeline.misread.values():
        said.append(f"{one.amount} (entry {one.seq}) was misread, as {act.done_by.partition(':')[2]} says")
        cites = (*cites, one.seq, act.seq)
    if not said:
        return verdict
    return replace(verdict, text=f"{verdict.text}; {listing(said)}", cites=cites)


def _visit(case: Case, one: Pass) -> Detail:
    assert one.volume is not None
    since = -1 if one.id in void(case) else case.timeline.again.get(one.id, -1)
    every = through(case, one.id)
    found = tuple(gauge for gauge in every if gauge.seq > since)
    judged = _attempt(case, one, found, tuple(act.seq for act in lost(case, one.id) if act.seq > since))
    if found and (earlier := ran_before(case, one.id, since)):
        text = "the bottle that was read holds what ran before it was to be done again too"
        judged = Detail(
            one.id, "no proof", text, (*judged.cites, *(seq for opening in earlier for seq in opening.cites))
        )
    if len(found) == len(every):
        return judged
    before = every[: len(every) - len(found)]
    text = f"{judged.text}; {_sum(before)} before it was to be done again (entry {since})"
    return Detail(one.id, judged.answer, text, (*judged.cites, *(gauge.seq for gauge in before), since))


def _attempt(case: Case, one: Pass, found: Sequence[Gauge], unread: tuple[int, ...]) -> Detail:
    """Judge what was read of a visit, without what ran before it was to be done again, and the bottles not read."""
    assert one.volume is not None
    not_read = _bottles_not_read(unread)
    if not found:
        return Detail(one.id, "no proof", f"no volume recorded{not_read}, asked {spell(one.volume)}", unread)
    if (wrong := impossible(found)) is not None:
        return Detail(one.id, "no proof", *wrong)
    cites = tuple(gauge.seq for gauge in found)
    if besides := mixed(case, one.id):
        others = listing(name for name in besides if name != one.id)
        return Detail(one.id, "no proof", f"the bottle that was read holds what ran out at {others} too", cites)
    read = {gauge.nipple for gauge in found}
    silent = [name for name in one.nipples if not {"", name} & read]
    if silent:
        names = listing(case.nipple(name).name for name in silent)
        return Detail(one.id, "no proof", f"no volume recorded at {names}, asked {spell(one.volume)}", cites)
    totals = [_sum(counted) for counted in (found, counting(case, found))]
    fine = [_inside(case, one, counted) for counted in (found, counting(case, found))]
    several = len(_bottles(case, one, found))
    text = f"{totals[0]} collected{f' in {several} bottles' if several > 1 else ''}, asked {spell(one.volume)}"
    if unread:
        if all(fine) and not one.volume.high:
            return Detail(one.id, "met", text, cites)
        over = not _none_above(case, one, found)
        return Detail(one.id, "not met" if over else "no proof", f"at least {text}{not_read}", (*cites, *unread))
    if fine[0] != fine[1]:
        text = f"{totals[0]} collected, or {totals[1]} if what was at once read again does not count"
        return Detail(one.id, "no proof", f"{text}; asked {spell(one.volume)}", cites)
    return Detail(one.id, "met" if fine[0] else "not met", text, cites)


def _inside(case: Case, one: Pass, gauges: Sequence[Gauge]) -> bool:
    """Whether enough ran at a pass in all, and no more than it asks for each time that it was done."""
    assert one.volume is not None
    return inside(_sum(gauges), Limit(low=one.volume.low)) and _none_above(case, one, gauges)


def _none_above(case: Case, one: Pass, gauges: Sequence[Gauge]) -> bool:
    assert one.volume is not None
    return all(inside(_sum(each), Limit(high=one.volume.high)) for each in _bottles(case, one, gauges))


def _bottles(case: Case, one: Pass, gauges: Sequence[Gauge]) -> list[Sequence[Gauge]]:
    """Return the readings of a pass, parted where the same nipple of it was opened again."""
    begun: list[int] = []
    seen: set[str] = set()
    openings = ((each.opened, each.nipple) for each in case.timeline.openings_at(one.id) if each.opened is not None)
    for seq, nipple in sorted(openings):
        if nipple in seen:
            begun.append(seq)
            seen.clear()
        seen.add(nipple)
    return list(by(gauges, lambda gauge: bisect_left(begun, gauge.seq)).values())


def _sum(gauges: Sequence[Gauge]) -> Quantity:
    return Quantity(quantity.plain(in_ml(gauges)), "mL")


def _balance(case: Case, tolerance: str) -> Detail:
    silent = _unread(case)
    if silent is not None:
        return silent
    if (wrong := impossible(volumes(case))) is not None:
        return Detail("balance", "no proof", *wrong)
    found = balance(case)
    if found is None:
        return Detail("balance", "no proof", *_not_recorded(case))
    text = f"{quantity.plain(found.filled_ml)} mL filled in, {quantity.plain(found.out_ml)} mL came out"
    if found.risen_ml is None:
        return Detail(
            "balance", "no proof", f"{text}; the level was not read as a volume before and after", found.cites
        )
    left = found.left_ml
    allowed = quantity.convert(quantity.parse(tolerance, place="balance_tolerance"), "mL")
    sign = "+" if left >= 0 else ""
    text += f", the level {say.change(found.risen_ml, 'mL')}; "
    text += f"{sign}{quantity.plain(left)} mL unaccounted for, {tolerance} either way allowed"
    if (less := _less_wasted(case, found.out_ml - allowed)) is not None:
        return Detail("balance", "no proof", f"{text}; {less[0]}", (*found.cites, less[1]))
    other = balance(case, once=True)
    fine = [abs(one.left_ml) <= allowed + 1e-9 for one in (found, other or found)]
    if fine[0] != fine[1] and other is not None:
        text += f"; {quantity.plain(other.left_ml)} mL if what was at once read again does not count"
        return Detail("balance", "no proof", text, found.cites)
    return Detail("balance", "met" if fine[0] else "not met", text, found.cites)


def _not_recorded(case: Case) -> tuple[str, tuple[int, ...]]:
    """Return in words what the sums lack: what was filled in, a visit, or how much ran out at which; and entries."""
    if not case.timeline.readings("volume-in"):
        return "how much was filled in is not recorded", ()
    if case.untouched:
        return f"no entry says what was done at {listing(one.id for one in case.untouched)}", ()
    missing = [one for one in case.timeline.openings if not was_read(case, one)]
    if not missing:
        return "how much came out is not recorded", ()
    names = listing(dict.fromkeys(case.visit(one.pass_id, one.nipple) for one in missing))
    left = {end.seq for one in missing if (end := end_of(case, one)) is not None}
    cites = {seq for one in missing for seq in one.cites} | left
    return f"how much ran out at {names} is not recorded{_bottles_not_read(left)}", tuple(sorted(cites))


def _bottles_not_read(left: Iterable[int]) -> str:
    """Return in words the entries that leave a bottle unread; empty for none."""
    return f" (bottle not read: {said})" if (said := spell_entries(left)) else ""


def _less_wasted(case: Case, least_ml: float) -> tuple[str, int] | None:
    """Return in words that the waste was last read as less than came out, with its entry; None where it was not.

    What was drawn off only after that is not yet in it.
    """
    read = [one for one in case.timeline.readings("waste") if one.amount.unit in ("mL", "L")]
    later = [one for one in case.timeline.readings("volume-drawn") if read and one.seq > read[-1].seq]
    if not read or in_ml(read[-1:]) >= least_ml - in_ml(later) - 1e-9:
        return None
    return f"the waste container held no more than {read[-1].amount}", read[-1].seq


def _unread(case: Case) -> Detail | None:
    """Name a filling, or a step that reads a volume once in the job, that has no reading; drawn off is one too."""
    for act in case.timeline.acts_affecting("refill"):
        if (gauge := case.timeline.gauge(act.seq)) is None or gauge.what != "volume-in":
            return Detail("balance", "no proof", "it was filled, and how much went in is not recorded", (act.seq,))
    for step in (*case.procedure.steps_before, *case.procedure.steps_after):
        readings = (*case.timeline.readings(step.what), *case.timeline.readings("volume-drawn"))
        if step.what not in (*OUT, "volume-in") or any(one.step == step.id for one in readings):
            continue
        for act in case.timeline.acts:
            if act.step == step.id and act.act == "skipped":
                return Detail("balance", "no proof", f"{step.text}: {act.why_not}", (act.seq,))
        return Detail("balance", "no proof", f"{step.text}: no entry")
    return None


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(14, "fluid-balance", "Enough fluid, and does it balance?", answer)]
