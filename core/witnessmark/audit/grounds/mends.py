"""What the record says was mended at a check that was not right, where, and whether what was opened for it was bled.

A case flows in, mends flow out. Rules that hold here: words are judged only where they were chosen from the list, words
of one's own as if they may have opened a circuit; where nobody said which nipple or circuit it was, it may have been
any; a circuit is bled once each of its nipples is, the line of one nipple once that is: it was opened and closed for a
pass of the job after that was said, by its times where they settle it, and where that runs a wire command, was open
while it ran, where it runs a volume by hand, as much ran; what was to be done again after that bleeds nothing, nor does
an opening of no pass, or one of which the record says that nothing ran or that it did not run clear.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.fluid.volumes import collected, counting, in_ml, ran_before
from witnessmark.audit.grounds.asked import asked, done
from witnessmark.audit.grounds.open_share import share
from witnessmark.audit.grounds.sequence import Mark, Placed, precedes
from witnessmark.audit.grounds.sequence import opened as began
from witnessmark.audit.timeline import Act, Gauge, Opening
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.mending import (
    BLED,
    MENDED,
    MENDED_AT,
    NONE,
    NOTHING,
    TIGHTENED,
    circuits,
    of_circuit,
    opened,
    tightened,
)
from witnessmark.procedure.model import Pass, Step


@dataclass(frozen=True, slots=True)
class Mend:
    """One mend. `what` is from the list, empty for words of one's own; `nipples` were tightened, or may have been.

    `check` is the step of the check that it was told for: of those not right then the one looked at last.

    The lines of `opened` were opened for it, or may have been, each a nipple; `place` is in words where it was, as far
    as that was said.
    """

    act: Act
    what: str
    nipples: tuple[str, ...]
    opened: tuple[str, ...]
    place: str
    cites: tuple[int, ...]
    check: str = ""

    @property
    def changes(self) -> bool:
        """Whether it changed something at the vehicle that an earlier check cannot speak for."""
        return self.what not in (BLED, NOTHING)

    @property
    def mark(self) -> Mark:
        return Mark(self.act.at, self.cites[-1], "what was not right was mended")

    @property
    def text(self) -> str:
        """Who says what was mended, and where."""
        who = self.act.done_by.partition(":")[2]
        return f"{who} says what was mended: {self.what or self.act.mended or 'no words'}{self.place}"


def every_mend(case: Case) -> tuple[Mend, ...]:
    """Return every mend, in the order of the journal."""
    return case.once("mends", lambda: _mends(case))


def _mends(case: Case) -> tuple[Mend, ...]:
    words = {MENDED, MENDED_AT}.difference(case.step_ids)  # a step of the procedure is its own
    acts = [act for act in case.timeline.acts if act.step in words and act.done]
    pairs = zip_longest(acts, acts[1:])
    checks = _checks_at(case, [act.seq for act in acts])
    return tuple(_mend(case, one, then, checks[one.seq]) for one, then in pairs if one.step == MENDED)


def _checks_at(case: Case, seqs: Sequence[int]) -> dict[int, str]:
    """Return for each entry the check in hand then: of those last seen not to be right the one looked at last."""
    noes: dict[str, None] = {}
    found, asked_at = {}, set(seqs)
    for act in case.timeline.acts:
        if act.seq in asked_at:
            found[act.seq] = next(reversed(noes), "")
        elif not act.pass_id and (act.looked or act.done):
            noes.pop(act.step, None)
            if act.looked:
                noes[act.step] = None
    return found


def _mend(case: Case, act: Act, then: Act | None, check: str) -> Mend:
    at = then if then is not None and then.step == MENDED_AT else None
    nipple, answer = (at.nipple, at.answer) if at is not None else ("", "")
    nipples = tightened(case.procedure, act.answer, nipple, answer)
    those = opened(case.procedure, act.answer, nipple, answer)
    cites = (act.seq,) if at is None else (act.seq, at.seq)
    return Mend(act, act.answer, nipples, those, _place(case, act.answer, nipple, those, answer), cites, check)


def _place(case: Case, what: str, nipple: str, those: tuple[str, ...], answer: str) -> str:
    if what in (BLED, NOTHING):
        return ""
    if nipple in {one.id for one in case.procedure.nipples}:
        return f", at {case.nipple(nipple).name}"
    if what == TIGHTENED:
        return ", at no nipple" if answer == NONE else ", not said at which nipple"
    if not those:
        return ", no circuit opened for it"
    return f", circuit {answer}" if answer in circuits(case.procedure) else ", not said of which circuit"


def bled(case: Case, after: Placed, before: int, nipple: str = "") -> tuple[int, ...]:
    """Return the entries that show a nipple bled after a moment and before an entry; none where it was not.

    Where no nipple is named it may be any. It was after it by its times or, where they do not settle it, by the record.

    It was where it was opened and closed for a pass of the job, and where that runs a wire command, was open for the
    share of a completed run that the pass asks; where it runs a volume by hand, where as much as it asks was read.
    """
    visits = ((one, name) for one in case.plan for name in one.nipples if nipple in ("", name))
    return next((found for one, name in visits if (found := _bled_at(case, one, name, after, before))), ())


def _bled_at(case: Case, one: Pass, name: str, after: Placed, before: int) -> tuple[int, ...]:
    """As `bled`, of one pass, by what was done since it was last to be done again: it may have stayed open for that.

    Of what was to be done again after `before` nothing is known here.
    """
    since = max((after.seq, *(seq for seq, name in case.timeline.redone if name == one.id and seq < before)))
    openings = [
        opening
        for opening in case.timeline.openings_of(name, one.id)
        if opening.opened is not None
        and opening.closed is not None
        and after.seq < opening.opened < opening.closed < before
        and precedes(case, after, began(opening))
    ]
    if not one.wire_command:
        return _by_hand(case, one, [opening for opening in openings if (opening.opened or 0) > since], before)
    for run in case.timeline.actuations_of(one.id):
        completed = run.outcome is not None and run.outcome.result == "completed"
        if run.ran is None or not completed or not since < run.seq < before:
            continue
        near = [opening for opening in openings if opening.open.meets(run.ran) == "yes"]
        if near and share(case, one, name, run, "").answer == "met" and not _in_vain(case, one, near, before):
            return tuple(sorted((run.seq, *(seq for opening in near for seq in opening.cites))))
    return ()


def _by_hand(case: Case, one: Pass, openings: list[Opening], before: int) -> tuple[int, ...]:
    """Return the entries that show a nipple bled by hand: opened, and as much run as its pass asks at least."""
    low = one.volume.low if one.volume is not None else ""
    if not openings or _in_vain(case, one, openings, before):
        return ()
    if not low:
        return openings[0].cites
    if ran_before(case, one.id, openings[0].cites[0]):
        return ()
    read = _read(case, openings, before)
    least = quantity.convert(quantity.parse(low, place="volume"), "mL")
    enough = in_ml(counting(case, read)) >= least
    return tuple(sorted((*openings[0].cites, *(each.seq for each in read)))) if enough else ()


def _in_vain(case: Case, one: Pass, openings: Sequence[Opening], before: int) -> bool:
    """Whether it is said of openings of a nipple that nothing ran at them, or last that it did not run clear."""
    read = _read(case, openings, before)
    if read and in_ml(counting(case, read)) <= 0:
        return True
    name, since = openings[0].nipple, openings[0].cites[0]
    looks = [act for step in asked(case, "clear", each_pass=True) for act in _looks(case, step, one.id, name)]
    seen = [act for act in looks if since < act.seq < before]
    return bool(seen) and max(seen, key=lambda act: act.seq).looked


def _looks(case: Case, step: Step, pass_id: str, nipple: str) -> list[Act]:
    acts = done(case, step, "clear", pass_id=pass_id, nipple=nipple)
    return [act for act in acts if act.done or act.looked]


def _read(case: Case, openings: Iterable[Opening], before: int) -> tuple[Gauge, ...]:
    """Return the volumes by which it was read what ran out at openings, each once, up to an entry."""
    found = {each.seq: each for one in openings for each in collected(case, one) if each.seq < before}
    return tuple(found.values())


def left_unbled(case: Case) -> tuple[str, ...]:
    """Return the nipples whose lines were opened for a mend of this job and that no entry shows bled after it."""
    end = case.entries[-1].seq + 1
    those = ((one, name) for one in every_mend(case) for name in one.opened)
    return tuple(dict.fromkeys(name for one, name in those if not bled(case, one.mark, end, name)))


def run_since(case: Case, nipple: str) -> Detail | None:
    """Return what the last run for a nipple that was opened for a mend shows, as far as it does not show it bled."""
    after = max(one.act.seq for one in every_mend(case) if nipple in one.opened)
    passes = [one for one in case.plan if one.wire_command and nipple in one.nipples]
    runs = [(run.seq, one, run) for one in passes for run in case.timeline.actuations_of(one.id) if run.seq > after]
    done = [each for each in runs if (ended := each[2].outcome) is not None and ended.result == "completed"]
    if not done:
        return None
    _, one, run = max(done, key=lambda each: each[0])
    found = share(case, one, nipple, run, one.id) if run.ran is not None else None
    return found if found is not None and found.answer != "met" else None


def judged(case: Case, one: Mend, before: int) -> tuple[str, bool, tuple[int, ...]]:
    """Return in words what came of a mend before an entry, whether it is whole, and the entries that show it.

    What was bled after a later mend that opened the same line belongs to that one.
    """
    later = {name: after for name in one.opened if (after := _opened_next(case, one, name, before)) is not None}
    until = {name: later[name].act.seq if name in later else before for name in one.opened}
    found = {name: bled(case, one.mark, until[name], name) for name in one.opened}
    done = tuple(sorted({seq for cites in found.values() for seq in cites}))
    left = [name for name, cites in found.items() if not cites]
    tried = {name: seqs for name in left if (seqs := _opened_since(case, name, one.mark.seq, until[name]))}
    text, untouched = one.text, [name for name in left if name not in tried]
    for again in {later[name].act.seq: None for name in untouched if name in later}:
        those = [name for name in untouched if name in later and later[name].act.seq == again]
        text += f"; {lines(case, those)} not bled before the next mend (entry {again})"
    if alone := [name for name in untouched if name not in later]:
        text += f"; {lines(case, alone)} not bled after that"
    for name, seqs in tried.items():
        text += f"; {case.nipple(name).name} opened again ({spell(seqs)}), which does not show it bled after that"
    if found and not left:
        text += f"; bled after that: {spell(done)}"
    whole = all(name in later and bled(case, later[name].mark, before, name) for name in left)
    return text, whole, (*one.cites, *(seq for seqs in tried.values() for seq in seqs), *done)


def _opened_next(case: Case, one: Mend, nipple: str, before: int) -> Mend | None:
    """Return the next mend before an entry for which the line of a nipple was opened once more."""
    mends = (each for each in every_mend(case) if one.act.seq < each.act.seq < before)
    return next((each for each in mends if nipple in each.opened), None)


def _opened_since(case: Case, nipple: str, after: int, before: int) -> tuple[int, ...]:
    """Return the entries between two that open a nipple."""
    openings = (one.opened for one in case.timeline.openings_of(nipple))
    return tuple(seq for seq in openings if seq is not None and after < seq < before)


def lines(case: Case, left: Sequence[str]) -> str:
    """Return nipples in words, a circuit in the place of all by which it is bled where that is more than one."""
    all_of = {name: set(of_circuit(case.procedure, name)) for name in circuits(case.procedure)}
    named = [name for name, those in all_of.items() if those <= set(left) and len(those) > 1]
    rest = [case.nipple(one) for one in left]
    whole = [f"circuit {say.listing(named)}"] if named else []
    return say.listing([*whole, *(one.name for one in rest if one.circuit not in named)])
