"""How the program that runs a job ends: what it writes then, and what the next one finds of one that wrote nothing.

A job's entries flow in, a `left` entry flows out. Rules that hold here: a program that ends in order says how, with
what stands open as it does; of one that did not, the next says between which moments it ended, and no more, for nobody
saw it; only who left the job knows how it was left, so that after any other end what stands open is shut first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

from witnessmark.job.moment import clock
from witnessmark.job.record import MACHINE
from witnessmark.job.walk import resume
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import Body, Left, Remark, State
from witnessmark.journal.entry import Entry, Occurred, occurred
from witnessmark.journal.kinds import WORK

KIND = "left"
KINDS = (KIND, "note")
"""The kinds that say how the job was left, taken up, or what was remarked: none moves it, nor is work on it."""
LEFT: Literal["left"] = "left"
UNSEEN: Literal["unseen"] = "unseen"
SCREEN_LOST = "the screen was lost"
NOT_RECORDED = "not recorded"
"""Why a runner ends: nothing can be written any more, so neither can that."""
TAKEN_UP = "taken up again at a step that takes some time at least: that counts from here"
ENDINGS: dict[str, Literal["left", "screen closed"]] = {LEFT: LEFT, SCREEN_LOST: "screen closed"}
"""How it ended, by why a runner does; any other why is the name of a signal."""


def as_left(state: JobState, why: str) -> Left:
    """Return what is written as a runner ends for this `why`."""
    how = ENDINGS.get(why)
    signal = "" if how else why
    return Left(how=how or "told to end", open_nipples=state.open_nipples, pressurised=state.pressurised, signal=signal)


def take_up(
    state: JobState, entries: Sequence[Entry], now_ns: int, since: int | None = None
) -> Iterator[tuple[Body, Occurred | None, str]]:
    """Yield what a program writes that takes a job up: each body, when it was (None: now), and what is said of it.

    How the one before ended, where that one wrote nothing; and that a job which lay unpaused for long, or which nobody
    left as it stands, goes on now, so that it is asked again as after a pause. Of one that is paused nothing is to be
    told: what stood open was asked then. `since` is the first entry of the journal by which a program said how it
    ended, None without any: what ended before that may have been one that never did. Where nothing of this is written
    and a step stands that takes some time at least, a note is: its time counts from an entry of this program.
    """
    if state.status not in ("open", "paused"):
        return
    how, last = last_word(entries)
    unseen = last is not None and how == UNSEEN and state.status == "open"
    if last is not None and unseen:
        body = Left(how=UNSEEN, open_nipples=state.open_nipples, pressurised=state.pressurised, after=last.seq)
        yield body, occurred(min(last.recorded.wall_ns, now_ns), now_ns), _words(last, since)
    lain = resume.lain(state, now_ns)
    if state.status == "open" and (lain or resume.was_left(state, now_ns) or _must_be_shut(state, how)):
        yield State(state="open", why="gone on with after it was left", again=lain), None, ""
    elif not unseen and last is not None and state.status == "open" and _is_timed(state):
        yield Remark(said=TAKEN_UP), None, ""


def _is_timed(state: JobState) -> bool:
    return state.point is not None and state.point.step is not None and bool(state.point.step.takes_at_least)


def _words(last: Entry, since: int | None) -> str:
    after = f"after entry {last.seq}, {clock(last.recorded.wall_ns)}"
    if since is None or last.seq < since:
        return f"How the program ended {after}, was not recorded then."
    return f"No entry says how the program ended {after}: it may have been killed, or its power cut. That is recorded."


def last_word(entries: Sequence[Entry]) -> tuple[str, Entry | None]:
    """Return how the program that ran the job last ended, and its last entry; empty and None where none ever did."""
    last = next((one for one in reversed(entries) if _of_a_runner(one)), None)
    if last is None:
        return "", None
    own = [one for one in entries if one.recorded.process == last.recorded.process]
    said = [str(one.body.get("how")) for one in own if one.kind == KIND]
    return next((how for how in reversed(said) if how != UNSEEN), UNSEEN), own[-1]


def _must_be_shut(state: JobState, how: str) -> bool:
    """Whether what stands open is shut or seen before anything else: nobody left it so."""
    return how not in ("", LEFT) and bool(state.open_nipples or state.pressurised)


def _of_a_runner(entry: Entry) -> bool:
    """Whether a program that ran the job wrote an entry: what is keyed in or added at a desk, others wrote."""
    if entry.kind == KIND or entry.done_by == MACHINE:
        return True
    return entry.kind in WORK and entry.occurred.basis != "typed"


def leaves(commands: Iterable[dict[str, object]]) -> bool:
    """Whether one of a face's commands is the wish to leave."""
    return any(one.get("do") == "leave" for one in commands)
