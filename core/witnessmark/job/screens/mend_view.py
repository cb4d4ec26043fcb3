"""The view that asks where something was mended: the job's state flows in, one view flows out."""

from __future__ import annotations

from witnessmark.job.state import JobState
from witnessmark.job.view import Button, View
from witnessmark.procedure.mending import MENDED_AT, REPLACED, TIGHTENED

NOWHERE, NOBODY_KNOWS = "o", "n"
"""The keys for no nipple or no circuit, and for that nobody can say which."""
MOST = 9
"""So many places have a key of their own."""


def mend_view(state: JobState) -> View:
    """Return the view of a mend whose place is to be said."""
    nipples = state.mend == TIGHTENED
    buttons = [Button(str(key), name) for key, (_, name) in enumerate(places(state), 1)]
    if state.mend != REPLACED:
        buttons.append(Button(NOWHERE, "another joint, no nipple" if nipples else "no circuit was opened for it"))
    every = "no torque read before is proof" if nipples else "each circuit is bled again, or it is no proof"
    buttons.append(Button(NOBODY_KNOWS, f"nobody knows: {every}"))
    if nipples:
        text = "Which nipple was tightened? Its torque is read again."
    elif state.mend == REPLACED:
        text = "To which circuit does the part belong? It is bled again."
    else:
        text = "Was a circuit opened for it? Then it is bled again."
    return View(kind="step", title=state.procedure.title, text=text, step=MENDED_AT, buttons=tuple(buttons))


def places(state: JobState) -> list[tuple[str, str]]:
    """Return the places that have a key, by id, each with what it is called."""
    known = state.procedure.nipples
    if state.mend == TIGHTENED:
        return [(one.id, one.name) for one in known][:MOST]
    return [(name, f"circuit {name}") for name in dict.fromkeys(one.circuit for one in known)][:MOST]
