"""Steps that the procedure asks for and that no entry names: neither done, nor left out, nor empty on a card.

A case flows in, a line for each step flows out. Rules that hold here: what is asked at each pass is asked of those
passes at which a nipple was opened, for a pass never begun is named as such; a bottle that passes share is one.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.fluid.bottles import end_of
from witnessmark.audit.grounds.asked import done
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Opening
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass, Step
from witnessmark.procedure.steps import words_of
from witnessmark.procedure.words import VEHICLE_NUMBER

MOST, LETTERS = 8, 60
"""How many of the steps page one names, and so many letters of each: a choice of this project."""


def unsaid(case: Case) -> list[str]:
    """Return each step that no entry names, in the order in which they are asked, with its passes."""
    return case.once("unsaid", lambda: _unsaid(case))


def _unsaid(case: Case) -> list[str]:
    one = case.procedure
    begun = [(each, openings) for each in case.plan if (openings := case.timeline.openings_at(each.id))]
    each_pass = (*one.steps_before_each_pass, *one.steps_after_each_pass)
    at = {step.id: [each.id for each, openings in begun if _not_at(case, step, each, openings)] for step in each_pass}
    lines = [step.text for step in one.steps_before if not _named(case, step)]
    lines += [f"{step.text} ({listing(at[step.id])})" for step in each_pass if at[step.id]]
    return lines + [step.text for step in one.steps_after if not _named(case, step)]


def in_short(steps: Sequence[str]) -> list[str]:
    """Return the steps in one line, as short as page one has them; nothing for none."""
    if not steps:
        return []
    each = [textwrap.shorten(one, LETTERS, placeholder=" \u2026") for one in steps[:MOST]]
    each += [f"and {len(steps) - MOST} more"] if len(steps) > MOST else []
    return [f"asked for, and no entry says that it was done (in full on the lead's pages): {'; '.join(each)}"]


def _not_at(case: Case, step: Step, one: Pass, openings: Sequence[Opening]) -> bool:
    """Whether no entry names a step at a pass, or at one of the nipples of it that were opened."""
    if step.affects == "clear" and not one.clear:
        return False
    if step.what == "volume":
        return any(end_of(case, each) is None and not _named(case, step, one.id, each.nipple) for each in openings)
    return any(not _named(case, step, one.id, name) for name in dict.fromkeys(each.nipple for each in openings))


def _named(case: Case, step: Step, pass_id: str = "", nipple: str = "") -> bool:
    """Whether an entry names a step, of a pass and a nipple where given: as done or not, as read, or as left empty."""
    if any(act.step == step.id and (not nipple or act.nipple in ("", nipple)) for act in case.acts_at(pass_id)):
        return True
    said = any(done(case, step, word, pass_id=pass_id, nipple=nipple) for word in words_of(step))
    return said or bool(case.unwritten(step.id, pass_id, nipple)) or _by_machine(case, step)


def _by_machine(case: Case, step: Step) -> bool:
    """Whether the machine did a step that is its own: read the vehicle's number, or the trouble codes."""
    if step.act == "identify":
        asked = any(one.body.purpose == "identification" for one in case.timeline.exchanges)
        return asked or any(body.name == VEHICLE_NUMBER for _, body in case.all_of(bodies.Condition))
    when = "before" if step in case.procedure.steps_before else "after"
    scans = (body for _, body in case.all_of(bodies.CodeScan) if step.act == "scan")
    return any(body.step == step.id or (not body.step and body.when == when) for body in scans)
