"""What stands open on the vehicle as the record ends: nipples, the feed's pressure, and a service mode that is on.

A case flows in, lines flow out, each with the next act and the entries it rests on. Rules that hold here: the last
entry decides; what is open as first written or as corrected is open, but nothing that was taken back; a cue that nobody
answered may have opened its nipple, and one that a card does not say was closed may be open; a nipple that stood open
as the job was paused, or lay without a pause, was left open, until it is closed; no hand is sent to a nipple while a
run has no known end and nobody has seen it at rest.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from witnessmark.audit.amended import as_corrected, without_taken_back
from witnessmark.audit.assemble import body_of
from witnessmark.audit.case import CUE_GIVEN, FEED, MISSED, UNWRITTEN, Case
from witnessmark.audit.grounds.mends import every_mend, left_unbled, run_since
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.procedure import service_mode
from witnessmark.procedure.mending import unbled

PRESSURE = "feed-pressure"


def standing(case: Case) -> list[dict[str, Any]]:
    """Return a line for each nipple that is or may be open, for feed, service mode, and for what is to be bled."""
    found: dict[str, int] = {}
    for entries in (without_taken_back(case.entries), _corrected(case.entries)):
        for text, seq in _open(case, entries).items():
            found.setdefault(text, seq)
    last = (PRESSURE_ON, service_mode.line(case.procedure))
    order = sorted(found.items(), key=lambda pair: (last.index(pair[0]) if pair[0] in last else -1, pair[1]))
    return [*({"text": text, "cites": [seq]} for text, seq in order), *_to_bleed(case)]


def _to_bleed(case: Case) -> list[dict[str, Any]]:
    """Return a line for what was opened for a mend and not shown bled after it, until a release accepts that."""
    states = [body.state for _, body in case.all_of(bodies.State)]
    names = left_unbled(case)
    if not names or "released" in states[-1:]:
        return []
    runs = {name: found for name in names if (found := run_since(case, name)) is not None}
    text = unbled(case.nipple(one).name for one in names)
    text += "".join(f" {one.subject} was run for {case.nipple(name).name}: {one.text}." for name, one in runs.items())
    rests_on = [*(one.cites for one in every_mend(case) if one.opened), *(one.cites for one in runs.values())]
    return [{"text": text, "cites": sorted({seq for cites in rests_on for seq in cites})}]


LEFT, LAY = "was left OPEN when the job was paused", "was left OPEN while the job lay"
NOT_SAID = "the card does not say that it was closed"
CLOSE, UNTIL_AT_REST = "close it.", "do not touch it until it is seen at rest."
PRESSURE_ON = "The feed's pressure is on."


def _corrected(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Return the entries as corrected; none where a correction cannot be read, which the audit says."""
    if not any(one.kind == "amendment" for one in entries):
        return ()
    try:
        made = as_corrected(entries)
        for one in made:
            body_of(one)
    except InputError:
        return ()
    return made


def _opens_or_closes(case: Case, body: bodies.StepDone) -> bool:
    """Whether a card leaves empty that a nipple was opened, or closed."""
    step = case.step(body.answer)
    return body.answer in ("open", "close") or (step is not None and "closed" in step.also)


def _unseen(runs: set[int], entry: Entry, body: bodies.Body | None) -> set[int]:
    """Return the runs of which nobody knows the end after an entry, and which nobody has seen at rest."""
    if entry.kind == "moved":  # entries here name the one by which the job came
        return {entry.seq} if runs else runs
    if isinstance(body, bodies.Intent):
        return {*runs, entry.seq}
    if isinstance(body, bodies.Outcome) and body.result != "unknown":
        return runs - {body.actuation}
    return runs - {body.actuation} if isinstance(body, bodies.Inspection) and body.safe else runs


def _open(case: Case, entries: Iterable[Entry]) -> dict[str, int]:
    """Return what the last entries leave open, in words, with the entry that says so."""
    opened: dict[str, int] = {}
    cued: dict[str, int] = {}
    unsure: dict[str, int] = {}
    left: set[str] = set()
    how_left = LEFT
    unseen: set[int] = set()
    paused = False
    pressure: int | None = None
    mode: int | None = None
    for entry in entries:
        body = body_of(entry)
        unseen = _unseen(unseen, entry, body)
        if isinstance(body, bodies.State):
            if body.state == "open":
                left, how_left = {*opened}, LEFT if paused else LAY
            paused = body.state == "paused"
        if not isinstance(body, bodies.StepDone | bodies.Reading):
            continue
        words = (body.affects, *body.also)
        if isinstance(body, bodies.StepDone):
            if body.act == "opened":
                opened[body.nipple] = entry.seq
                left.discard(body.nipple)
                unsure.pop(body.nipple, None)
            elif body.act == "closed":
                opened.pop(body.nipple, None)
                unsure.pop(body.nipple, None)
            elif body.step == UNWRITTEN and _opens_or_closes(case, body):
                unsure[body.nipple] = entry.seq
            if body.step == CUE_GIVEN:
                cued[body.nipple] = entry.seq
            elif body.act == "opened" or body.step == MISSED:
                cued.pop(body.nipple, None)
            words = () if body.act == "skipped" else words
        elif body.what == PRESSURE:
            pressure = entry.seq if any(digit in "123456789" for digit in body.amount.value) else None
        if "closed" in words:
            opened.pop(body.nipple, None)
            unsure.pop(body.nipple, None)
        for word in words:
            if word in FEED:
                pressure = entry.seq if word == "pressurise" else None
        if any(word in (service_mode.ON, service_mode.OFF) for word in words):
            mode = entry.seq if service_mode.is_on(words, was=False) else None
    act = UNTIL_AT_REST if unseen else CLOSE
    told = {
        f"Nipple {case.nipple(name).name} {LEFT if paused else how_left if name in left else 'is OPEN'}: {act}": seq
        for name, seq in opened.items()
        if name not in unsure
    }
    told |= {
        f"Nipple {case.nipple(name).name} may be OPEN (the cue was given): {act}": seq
        for name, seq in cued.items()
        if name not in opened
    }
    told |= {f"Nipple {case.nipple(name).name} may be OPEN ({NOT_SAID}): {act}": seq for name, seq in unsure.items()}
    told |= {} if pressure is None else {PRESSURE_ON: pressure}
    return told | ({} if mode is None else {service_mode.line(case.procedure): mode})
