"""What is answered before arming: the nipple that is said to be open is an entry at once, a no is one too.

The view that stands and the answers flow in; entries, a refusal or an arming flow out. Rules that hold here: that a
nipple is open is recorded before anything else is asked; a no refuses in the words of its question, and says first what
is done with the nipple. Where the run is not ours the answers are an entry, and nothing is armed.
"""

from __future__ import annotations

from witnessmark.errors import InputError, LocalError
from witnessmark.job import safety_look
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.keys.acts import Acts, Command, text_of
from witnessmark.job.keys.nipple_keys import shut_here
from witnessmark.job.questions import OPENED
from witnessmark.job.screens.run_view import SHUT_AGAIN
from witnessmark.job.view import View
from witnessmark.job.walk.standing import close_first
from witnessmark.job.walk.state import LATER, SAFETY_LOOK
from witnessmark.journal import bodies
from witnessmark.mapping.first_use import QUESTIONS


def arm_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key says beside the questions: opened only while it runs, or shut again."""
    when = runner.record.touch()
    if key == SHUT_AGAIN:
        for nipple in view.nipples:
            if nipple in runner.state.open_nipples:
                shut = bodies.StepDone(step="close", act="closed", pass_id=view.pass_id, nipple=nipple)
                runner.record.said(shut, by=by, when=when)
        return
    for nipple in shut_here(runner.state):
        later = bodies.StepDone(step=LATER, act="skipped", pass_id=view.pass_id, nipple=nipple, said=said)
        runner.record.said(later, by=by, when=when)


def answered(runner: Acts, view: View, command: Command) -> None:
    """Take the answers to the questions of a view: those still to be asked are asked after a nipple was opened."""
    if view.kind != "arm":
        raise InputError("nothing is asked here", place="answers", hint="look at the view")
    answers = command.get("answers")
    if not isinstance(answers, dict) or not all(isinstance(value, bool) for value in answers.values()):
        raise InputError("answers are not yes and no", place="answers", hint="send an object of true and false")
    opens = any(one.id == OPENED for one in view.questions)
    opened = shut_here(runner.state) if opens and answers.get(OPENED) else ()
    _open(runner, view, opened, text_of(command, "by"))
    no = next(
        (one for one in view.questions if answers.get(one.id) is False and one.id not in (OPENED, *QUESTIONS)), None
    )
    if no is not None:
        stand_open = (*(one for one in view.nipples if one in runner.state.open_nipples), *opened)
        hint = close_first(runner.state, stand_open) if stand_open else "keep the nipple shut; put it right"
        runner.refuse(view.pass_id, Refusal("question", f"{no.text} no", f"{hint}, then answer again"))
    elif view.step == SAFETY_LOOK:
        if any(one.id not in answers for one in view.questions):
            raise InputError("not all of it was answered", place="answers", hint="answer each with yes or no")
        runner.record.said(safety_look.body(view), by=text_of(command, "by"))
    elif opens and not answers.get(OPENED):
        raise LocalError("the nipple is not open", hint="open it, then answer again; nothing was sent")
    elif opened and any(one.id not in answers for one in view.questions):
        runner.half.keep(view.pass_id, answers)
    else:
        runner.arm(runner.half.whole(answers))


def _open(runner: Acts, view: View, nipples: tuple[str, ...], by: str) -> None:
    when = runner.record.before(runner.state.last_wall_ns)
    for nipple in nipples:
        opened = bodies.StepDone(step="open", act="opened", pass_id=view.pass_id, nipple=nipple)
        runner.record.said(opened, by=by, when=when)
