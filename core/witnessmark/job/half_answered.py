"""What was answered before arming so far: a nipple that was said to be open is recorded before the rest is asked.

Answers flow in, a view with those questions that are still to be asked and all answers together flow out. Rules that
hold here: only a yes is kept that its procedure lets hold for a time, no longer than that, and only as long as the same
pass asks on; anything else that is shown between forgets it.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from witnessmark.clock import NS, Clock
from witnessmark.job.amount import seconds
from witnessmark.job.view import View
from witnessmark.procedure.model import Procedure


class HalfAnswered:
    """The answers of one pass that the next view need not ask again."""

    def __init__(self, procedure: Procedure, clock: Clock) -> None:
        self._holds_ns = {
            one.id: round(seconds(one.holds, place=f"question {one.id}, holds") * NS)
            for one in procedure.questions
            if one.holds
        }
        self._clock = clock
        self._pass_id = ""
        self._yes: dict[str, bool] = {}
        self._since_ns = 0

    def keep(self, pass_id: str, answers: Mapping[str, bool]) -> None:
        """Keep what was answered with yes and holds."""
        self._yes = {one: True for one, said in answers.items() if said and one in self._holds_ns}
        self._pass_id, self._since_ns = pass_id, self._clock.mono_ns()

    def whole(self, answers: Mapping[str, bool]) -> dict[str, bool]:
        """Return these answers with those of before, which are used up by that."""
        found = self._holding() | dict(answers)
        self._yes = {}
        return found

    def shown(self, view: View) -> View:
        """Return the view without what was answered already."""
        if view.kind != "arm" or view.pass_id != self._pass_id:
            self._yes = {}
            return view
        known = self._holding()
        return msgspec.structs.replace(view, questions=tuple(one for one in view.questions if one.id not in known))

    def _holding(self) -> dict[str, bool]:
        age_ns = self._clock.mono_ns() - self._since_ns
        return {one: True for one in self._yes if age_ns <= self._holds_ns[one]}
