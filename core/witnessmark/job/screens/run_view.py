"""The views of an actuation: asked before arming, armed, running, looked at and decided afterwards.

The job's state, a pass and the state of a run flow in, one view flows out.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.moment import clock
from witnessmark.job.questions import OPENED, questions
from witnessmark.job.reasons import ACCEPTED, LATER
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.sending.armed import BY_HAND
from witnessmark.job.view import ELSEWHERE, UNKNOWN_ACT, Asked, Button, View, title
from witnessmark.job.walk.standing import close_now, is_contradicted, is_open, named, sentence, undecided
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.mapping.first_use import SCREEN
from witnessmark.procedure.model import Pass

ARM = "Answer with your own eyes, then arm."
SHUT_AGAIN = "k"
"""The key before arming that says that what was opened is shut again."""


def opens_at_arming(state: JobState, point: Point | None) -> bool:
    """Whether the touch that answers before arming also says that the nipples of this pass are open."""
    one = state.pass_of(point.pass_id) if point is not None and point.kind == "open" else None
    ours = state.grade == "sent"
    return ours and one is not None and bool(one.wire_command) and state.procedure.opened_at_arming


def arm_view(state: JobState, one: Pass, unreadable: tuple[str, ...], standing: tuple[str, ...] = ()) -> View:
    """Return the view that asks before arming."""
    command = state.command_of(one)
    opens = _opens(state, one) if opens_at_arming(state, state.point) else ""
    is_now = sentence(is_open(state, state.open_in(one)))
    buttons = [Button(SHUT_AGAIN, "it does not start now: closed again")] if is_now else []
    if opens:
        buttons.append(Button("l", "not yet: open it while it runs, and why", asks=True, reasons=LATER))
    runs = f"{command.words if command else one.wire_command}: {one.seconds}."
    runs = runs[0].upper() + runs[1:]
    return View(
        kind="arm",
        title=title(state, one.id),
        text=" ".join(part for part in (is_now, opens, f"{runs} {ARM}") if part),
        caution=learned(state, one) + " ".join(state.procedure.cautions),
        pass_id=one.id,
        nipples=one.nipples,
        buttons=tuple(buttons),
        questions=_in_order(opens, questions(state, unreadable, standing)),
    )


def _in_order(opens: str, asked: tuple[Asked, ...]) -> tuple[Asked, ...]:
    """Those with a touch of their own, then that the nipple is open, then the rest."""
    alone = [one for one in asked if one.alone]
    return (*alone, *([Asked(OPENED, f"Done: {opens}")] if opens else []), *(one for one in asked if not one.alone))


def _opens(state: JobState, one: Pass) -> str:
    """Return what is to be opened, in words."""
    shut = [name for name in one.nipples if name not in state.open_nipples]
    known = {nipple.id: nipple for nipple in state.procedure.nipples}
    said = [f"{known[name].name} {known[name].opening}".strip() if name in known else name for name in shut]
    return f"Open the nipple {' and '.join(said)}." if said else ""


def learned(state: JobState, one: Pass) -> str:
    """Return the caution of a learned wire command, empty for a published one."""
    command = state.command_of(one)
    return f"{SCREEN[0].upper()}{SCREEN[1:]}. " if command is not None and command.origin == "learned" else ""


STARTS = "Armed. Start when the hand is ready."
WAITS = "Armed. Two people: who sits at the wheel says when ready."
SECOND = Button("w", "second person: ready at the wheel, hands on nothing else")


def armed_view(state: JobState, one: Pass, shown: dict[str, str]) -> View:
    """Return the view of an armed actuation: what it will do, and the two ways on."""
    ready = not one.two_people or state.ready == one.id
    says = (STARTS if ready else WAITS, _on_cue(state, one) if one.order == "with" else "")
    return View(
        kind="armed",
        title=title(state, one.id),
        text=" ".join(part for part in (sentence(is_open(state, state.open_in(one))), *says) if part),
        caution=learned(state, one) + " ".join(state.procedure.cautions),
        fallback=state.procedure.physical_fallback,
        pass_id=one.id,
        nipples=one.nipples,
        buttons=(
            Button("s", "start") if ready else SECOND,
            Button("x", "leave, nothing is sent"),
        ),
        shown={name: value for name, value in shown.items() if name != BY_HAND},
    )


def _on_cue(state: JobState, one: Pass) -> str:
    """Return what is to be opened as OPEN is called, and how far."""
    return f"On OPEN, not before: {_opens(state, one)}" if _opens(state, one) else ""


def running_view(state: JobState, one: Pass) -> View:
    """Return the view while it runs. Nipples that are still shut are opened now, each with one key."""
    closed = [nipple for nipple in one.nipples if nipple not in state.open_nipples]
    opens = one.order != "with" and bool(closed)
    return View(
        kind="running",
        title=title(state, one.id),
        text=f"Open the nipple {named(state, closed[0])} now." if opens else _running(state, one),
        caution=learned(state, one),
        fallback=state.procedure.physical_fallback,
        pass_id=one.id,
        nipples=tuple(closed[:1]) if opens else one.nipples,
        buttons=(Button("o", "opened"),) if opens else (),
    )


def _running(state: JobState, one: Pass) -> str:
    return f"Running. {_on_cue(state, one)}" if one.order == "with" else "Running."


def run_view(state: JobState, one: Pass, life: str, shown: dict[str, str]) -> View:
    """Return the view of an actuation in the state `life` of the table."""
    if life == "armed":
        return armed_view(state, one, shown)
    if life == "running":
        return running_view(state, one)
    text = {
        "checking": "Reading the preconditions.",
        "arming": "Reading the preconditions.",
        "cue": f"Counting down. {_on_cue(state, one)}",
        "stopping": "Stop sent, not confirmed yet.",
    }
    said = text.get(life, f"Starting. {_on_cue(state, one) if one.order == 'with' else ''}".strip())
    fallback = state.procedure.physical_fallback if life not in ("checking", "arming") else ""
    return View(
        kind="busy", title=title(state, one.id), text=said, fallback=fallback, pass_id=one.id, nipples=one.nipples
    )


LOOKED = {
    "1": "looked: at rest and safe",
    "2": "looked: at rest, after the supply was taken off by hand",
    "3": "looked: not at rest, or not safe",
}
"""The keys of an inspection, and the words of its entry. All but the last say that it is safe."""


def inspect_view(state: JobState, stop_came: str = "") -> View:
    """Return the view of an actuation whose end nobody knows. Only one of ours can be sent a stop request.

    `stop_came` is what came of the one that was sent from here.
    """
    run = state.run_of(state.inspect)
    what = "was interrupted" if state.interrupted else "ended in a way nobody knows"
    ours = run is None or run.grade == "sent"
    where = "" if ours else f" {ELSEWHERE}"
    first = f"Stop {stop_came} by the control unit." if stop_came == "confirmed" else f"{UNKNOWN_ACT}{where}"
    last = f"{_not_at_rest(state)}Look whether it is at rest, then say what you saw."
    looked = tuple(Button(key, label) for key, label in LOOKED.items())
    return View(
        kind="inspect",
        title=title(state, run.pass_id if run else ""),
        text=f"{first} An actuation {what}. {last}",
        fallback=state.procedure.physical_fallback,
        pass_id=run.pass_id if run else "",
        buttons=(Button("s", "send the stop request"), *looked) if ours else looked,
    )


def _not_at_rest(state: JobState) -> str:
    """Return when it was seen not at rest, and what is done then; empty where nobody has looked at it yet."""
    actuation, wall_ns = state.not_at_rest
    if actuation != state.inspect:
        return ""
    by_hand = "do by hand what stands below" if state.procedure.physical_fallback else "take its supply off by hand"
    seen = f"SEEN at {clock(wall_ns)}: not at rest, or not safe. That is recorded."
    return f"{seen} Hands stay clear: {by_hand}, then look again. "


def decide_view(state: JobState) -> View:
    """Return the view of a pass that must be decided on; a nipple of it that stands open is closed first."""
    one = state.pass_of(state.decide)
    if one is not None and state.open_in(one):
        nipple = state.open_in(one)[0]
        view = nipple_view(state, one, nipple, "close")
        if is_contradicted(state, nipple):
            says = f"An entry says that the nipple {named(state, nipple)} was opened. See that it is shut now."
            return replace(view, text=f"{says} {undecided(state)}", buttons=(Button("y", "it is shut"),))
        return replace(view, text=f"{close_now(state, nipple)} {undecided(state)}")
    return View(
        kind="decide",
        title=title(state, state.decide),
        text=f"{undecided(state)} Do the pass again, or accept what was done and say why.",
        pass_id=state.decide,
        buttons=(Button("r", "do the pass again"), Button("k", "accept it, and why", asks=True, reasons=ACCEPTED)),
    )
