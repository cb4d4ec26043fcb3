"""Whose hands do the work, and who else is here: sign-ons flow in, the people whom entries name flow out.

Rules that hold here: with nobody else signed on everything is done by the person at the screen; whose hands they are
is an entry as soon as it is said, and holds after a quit; a second person is never the one whose hands do the work; who
has left is nobody's hands any more; what only a lead may say is refused while no lead is signed on with the PIN.
Sign-ons are read in the journal's thread.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import msgspec

from witnessmark.clock import NS, Clock
from witnessmark.errors import LocalError
from witnessmark.job.presence import lead_here, others_here
from witnessmark.job.record import Record
from witnessmark.job.screens.first_use_view import asks_first_use, waits_for_lead
from witnessmark.job.view import View
from witnessmark.job.walk.state import HANDS
from witnessmark.journal.bodies import Body, StepDone
from witnessmark.journal.entry import Entry, Occurred
from witnessmark.people.person import Person

LOOK_EVERY_S = 30
AWAITED_EVERY_S = 2
"""How often it is looked who has signed on or left, and where somebody is waited for. No source."""
SIGN_ON = "witnessmark person sign-on --by ID"
NOBODY = "nobody else is signed on"


class Hands:
    """Who is at the screen, whose hands they are (`record.hands`), and who else is `here`, the last signed on first.

    `worked` is whose hands touched last before this runner, and who entered it. Until it has `looked` once, nobody
    knows who is here.
    """

    def __init__(
        self,
        record: Record,
        sign_ons: Callable[[], Iterable[Entry]],
        clock: Clock,
        boot_id: str,
        tell: Callable[[dict[str, object]], None],
        worked: tuple[str, str] = ("", ""),
    ) -> None:
        self.here: tuple[str, ...] = ()
        self.looked = False
        self._record = record
        self._sign_ons = sign_ons
        self._clock = clock
        self._boot_id = boot_id
        self._tell = tell
        self._worked = worked
        self._next_look_ns = 0
        self._lead_is_here = False

    def look(self, now_ns: int) -> None:
        """Look who is here when it is time to."""
        if now_ns >= self._next_look_ns:
            self._next_look_ns = now_ns + LOOK_EVERY_S * NS
            self._read(lambda: None)

    def switch(self) -> None:
        """Take the next person who is here for the one whose hands they are; tell it, or that nobody else is."""
        self._read(self._next)

    def by_second(self, body: Body, when: Occurred | None = None, *, starts: bool = False) -> None:
        """Record what a second person did or said. Without one it is refused.

        With `starts` it is the one who is not at the screen, for that one starts; else not the one who does the work.
        """
        when, beside = when or self._record.touch(), self._record.person if starts else self._record.hands

        def append() -> Entry:
            second = next(iter(self._beside(beside)), "")
            if not second:
                raise LocalError(
                    f"this needs a second person, and {NOBODY}", hint=f"the second person signs on: {SIGN_ON}"
                )
            return self._record.thread.append(self._record.draft(body, Person(second).actor, when))

        self._record.thread.call(append)

    def by_lead(self, body: Body) -> None:
        """Record what a lead said. Without one who is signed on with the PIN it is refused."""
        when = self._record.touch()

        def append() -> Entry:
            lead = lead_here(self._sign_ons(), self._clock.stamp(), self._boot_id)
            if not lead:
                raise LocalError(
                    "only a shop lead may say this, and none is signed on with the PIN",
                    hint=f"the lead signs on: {SIGN_ON}",
                )
            return self._record.thread.append(self._record.draft(body, Person(lead).actor, when))

        self._record.thread.call(append)

    def shown(self, view: View) -> View:
        """Return the view with whose hands they are, where more than one person is here, and who the second is."""
        if asks_first_use(view) and not self._lead_is_here:
            self._look_soon()
            return waits_for_lead(view, SIGN_ON)
        screen, hands = self._record.person.id, self._record.hands.id
        if view.person == "second":
            second = next((one for one in (*self.here, screen) if one != hands), "")
            if not second:
                self._look_soon()
            view = msgspec.structs.replace(view, second=second or NOBODY)
        if not self.here or view.kind in ("paused", "inspect"):
            return view
        return msgspec.structs.replace(view, hands=hands, at_screen=screen)

    def _look_soon(self) -> None:
        """Look again shortly: somebody is waited for."""
        self._next_look_ns = min(self._next_look_ns, self._clock.mono_ns() + AWAITED_EVERY_S * NS)

    def _read(self, then: Callable[[], None]) -> None:
        found: list[str] = []
        leads: list[str] = []

        def read() -> None:
            found.extend(self._beside(self._record.person))
            leads.append(lead_here(self._sign_ons(), self._clock.stamp(), self._boot_id))

        ticket = self._record.thread.call(read)
        ticket.then = lambda _: self._see(tuple(found), any(leads), then)

    def _see(self, here: tuple[str, ...], lead: bool, then: Callable[[], None]) -> None:
        if not self.looked:
            self._go_on(here)
        self.here, self._lead_is_here, self.looked = here, lead, True
        gone = self._record.hands.id
        if gone not in (*here, self._record.person.id):
            self._record.hands = self._record.person
            self._tell({"said": f"{gone} has signed off: the hands are {self._record.person.id}'s now."})
        then()

    def _go_on(self, here: tuple[str, ...]) -> None:
        """Keep the hands that worked last, where they are here and were entered at this screen; tell whose they are."""
        last, entered_by = self._worked
        screen = self._record.person.id
        if last in here and entered_by == screen:
            self._record.hands = Person(last)
            self._tell({"said": f"The hands are still {last}'s, as at the last touch."})
        elif last and last != screen:
            self._tell({"said": f"The hands are {screen}'s now: at the last touch they were {last}'s."})
        elif last and here:
            self._tell({"said": f"The hands are {screen}'s, as at the last touch."})

    def _next(self) -> None:
        people = (self._record.person.id, *self.here)
        if len(people) == 1:
            self._tell({"error": {"what": NOBODY, "hint": f"the other one signs on: {SIGN_ON}", "reached": "nothing"}})
            return
        now = people[(people.index(self._record.hands.id) + 1) % len(people)]
        self._record.hands = Person(now)
        self._record.said(StepDone(step=HANDS, act="confirmed"))  # a fact: kept by whoever goes on with the job
        self._tell({"said": f"The hands are {now}'s now."})

    def _beside(self, person: Person) -> tuple[str, ...]:
        """Who is here beside a person: whoever is signed on, and the one at the screen."""
        here = others_here(self._sign_ons(), person.id, self._clock.stamp(), self._boot_id)
        screen = self._record.person.id
        return here if screen in (person.id, *here) else (*here, screen)
