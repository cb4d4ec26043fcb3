"""What a reading, or an answer, was as first entered and after each of its corrections, in order.

A case flows in, a line for each that was corrected flows out. Rule that holds here: a value in between is told although
a later correction took it back: who relied on the record meanwhile relied on that.
"""

from __future__ import annotations

from witnessmark.audit import amended
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.report.kept import Say, value_text
from witnessmark.report.read_now import taken_back


def values(case: Case, say: Say) -> list[str]:
    """Return each value that was corrected, with all that it ever was and by which entries."""
    entries = {one.seq: one for one in case.entries}
    found = amended.corrections(case.entries)
    return [
        line
        for seq, by in sorted(found.items())
        if seq not in taken_back(case) and (line := _line(case, entries[seq], [entries[one] for one in by], say))
    ]


def _line(case: Case, one: Entry, by: list[Entry], say: Say) -> str:
    body = case.bodies.get(one.seq)
    if not isinstance(body, bodies.Reading | bodies.StepDone):
        return ""
    reading = isinstance(body, bodies.Reading)
    field = "amount" if reading else "answer"
    changed = [(entry.seq, said[field]) for entry in by if field in (said := amended.says(say(entry.body)))]
    if not changed:
        return ""
    first = value_text(say(one.body).get(field, "")) or "nothing"
    what = body.what.replace("-", " ") if isinstance(body, bodies.Reading) else case.step_text(body.step) or body.step
    where = case.visit(body.pass_id, body.nipple) if body.nipple else body.pass_id
    then = "".join(f", then {value_text(value) or 'nothing'}" for _, value in changed)
    made = spell(seq for seq, _ in changed)
    return f"{what.rstrip('?.')}{f' ({where})' if where else ''}: {first}{then} (entry {one.seq}, corrected in {made})"
