"""The views of a check that was not right: what comes before it is looked at again, and where something was mended.

The job's state flows in, a view, or what a view says and offers, flows out.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.amiss import bleeding, not_right
from witnessmark.job.amiss.mending import OWN
from witnessmark.job.reasons import MOST_PICKED, pass_again
from witnessmark.job.view import BLEED_AGAIN, Button, View
from witnessmark.job.walk import reopening
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure.mending import BLED, MENDED_AT, TIGHTENED, circuits
from witnessmark.procedure.steps import words_of

NOWHERE, NOBODY_KNOWS = "o", "n"
"""The keys for no nipple or no circuit, and for that nobody can say which."""
DRIVEN, DOUBT = "it was driven all the same", "It is still to be bled: it must not be driven. Was it, all the same?"


def mend_view(state: JobState) -> View:
    """Return the view of a mend whose place is to be said."""
    if state.mend == BLED:
        return _bled_view(state)
    nipples = state.mend == TIGHTENED
    buttons = [Button(str(key), label) for key, (_, _, label) in enumerate(places(state), 1)]
    if nipples or state.mend == OWN:
        buttons.append(Button(NOWHERE, "another joint, no nipple" if nipples else "no circuit was opened for it"))
    every = "no torque read before is proof" if nipples else "each circuit is bled again, or it is no proof"
    buttons.append(Button(NOBODY_KNOWS, f"nobody knows: {every}"))
    if nipples:
        text = "Which nipple was tightened? Its torque is read again."
    elif state.mend == OWN:
        text = "Was a circuit opened for it, and where? What was opened is bled again."
    else:
        text = "Which nipple does the part feed? More than one, as a caliper with two: its circuit. It is bled again."
    return View(kind="step", title=state.procedure.title, text=text, step=MENDED_AT, buttons=tuple(buttons))


def _bled_view(state: JobState) -> View:
    """Return the view that has bled what is said to be bled again and was not: the word alone is no proof."""
    reasons = pass_again(bleeding.offered(state))
    return View(
        kind="step",
        title=state.procedure.title,
        text="Nothing was bled since it was not right, as far as is recorded. Which pass is bled again now?",
        step=MENDED_AT,
        buttons=(
            *(Button(str(key), reason) for key, reason in enumerate(reasons, 1)),
            Button(NOBODY_KNOWS, "none is: that it was bled again is no proof then"),
        ),
    )


def places(state: JobState) -> list[tuple[str, str, str]]:
    """Return the places that have a key: a nipple or a circuit by its id, and what it is called."""
    known = state.procedure.nipples
    if state.mend == TIGHTENED:
        return [(one.id, "", one.name) for one in known][:MOST_PICKED]
    shared = [
        ("", name, f"circuit {name}: a part of several, or not known of which") for name in circuits(state.procedure)
    ]
    own = [(one.id, "", f"{one.name}: a part of this nipple alone") for one in known]
    return [*own[: max(0, MOST_PICKED - len(shared))], *shared][:MOST_PICKED]


def bleeds(state: JobState) -> list[Button]:
    """Return the key by which passes are bled again before a check is looked at again, where any can be."""
    offered = bleeding.offered(state)
    single = [one for one in offered if "," not in one]
    label = f"bleed again first ({', '.join(single)}), and why"
    return (
        [Button(BLEED_AGAIN, label, asks=True, reasons=pass_again(offered), starts=tuple(offered))] if offered else []
    )


def before_driving(state: JobState, point: Point, shown: View) -> View:
    """Return the view of a step; of one that drives what is still to be bled, the ways round it first."""
    step = point.step
    if step is None or not state.to_bleed or reopening.ROAD not in words_of(step):
        return shown
    due = "" if not_right.seen(state, step.id) else bleeding.to_bleed(state)
    text = f"NOT TO BE DRIVEN YET.{due} Bleed it first, or say that it is not driven, and why. Only then: {shown.text}"
    driven = [replace(one, label=DRIVEN) for one in shown.buttons if one.key == "y"]
    ways = sorted((one for one in shown.buttons if one.key != "y"), key=lambda one: one.key != BLEED_AGAIN)
    buttons = (*ways, *driven)
    return replace(shown, text=text, doubt=DOUBT, buttons=buttons)


def not_right_yet(state: JobState, must_say: bool, may_bleed: bool) -> str:
    """Say what comes before a check that was not right is looked at again."""
    said = "Put it right, say what was mended, then look again." if must_say else "It is said what was mended: look."
    said += bleeding.to_bleed(state)
    said += reopening.no_hand(state) if must_say else ""
    no_proof = " A circuit that is opened for it is bled again: else it is no proof that it holds."
    return f"It was not right when it was looked at. {said}{no_proof if may_bleed or state.to_bleed else ''}"
