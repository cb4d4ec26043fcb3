"""The runner's end of the link: opened when it is needed, opened anew after a loss, what it says by itself recorded.

A way to open a link flows in; a `Bay` to talk through and the exchanges that ended flow out. Rules that hold here: what
nobody asked for (late answers, other testers, a lost link) is recorded and told; a link that cannot be opened is told
and is not there; another tester that was heard is not forgotten with the link, nor with the program.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from witnessmark.clock import NS, Clock, Stamp
from witnessmark.errors import LinkError, WitnessmarkError
from witnessmark.job.allowed.rest import Moment
from witnessmark.job.bay import Bay, Tell, peer_of, timing_of
from witnessmark.job.events import SAME_AGAIN_S, Events
from witnessmark.job.moment import since_ns
from witnessmark.job.record import Record
from witnessmark.journal.entry import Recorded
from witnessmark.link.frame import Event, Peer
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.mapping.model import ProtocolMap
from witnessmark.talk.carrier import OtherRequest
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.exchange import Exchange
from witnessmark.talk.news import News, Unasked

OpenLink = Callable[[], FrameLink | MessageLink]
OTHER_TESTER = "other tester"


def heard_ns(recorded: Recorded, now: Stamp, boot_id: str) -> int:
    """Return until when, monotonic, another tester that was recorded may have been heard; now where no clock tells."""
    ago_ns = since_ns(recorded, now, boot_id)
    again_ns = SAME_AGAIN_S * NS  # what was heard again within that was not written again
    return now.mono_ns if ago_ns is None else min(now.mono_ns, now.mono_ns - ago_ns + again_ns)


class Hearing:
    """Holds the link of one runner. `bay` is None while there is none."""

    def __init__(
        self,
        open_link: OpenLink,
        record: Record,
        clock: Clock,
        boot_id: str,
        tell: Tell,
        before: Recorded | None = None,
    ) -> None:
        """`before` is when another tester was last recorded, by whichever program."""
        self.bay: Bay | None = None
        self._open_link = open_link
        self._record = record
        self._clock = clock
        self._boot_id = boot_id
        self._tell = tell
        self._events = Events(record, clock)
        self._here_since_ns = clock.mono_ns()
        self._blamed = ""
        self._other_tester_ns = None if before is None else heard_ns(before, clock.stamp(), boot_id)

    @property
    def works(self) -> bool:
        """Whether there is a link that is not lost."""
        return self.bay is not None and self.bay.talk.failure is None

    def moment(self) -> Moment:
        """Return this moment, for what rests."""
        return Moment(self._clock.stamp(), self._boot_id, self._here_since_ns)

    def connect(self, known: ProtocolMap | None) -> Bay | None:
        """Return the bay with a link that works, opening it anew when there is none; None when it cannot be opened."""
        if known is None:
            return None
        if self.bay is not None and self.works and self.bay.talk.broken is None:
            return self.bay
        self.close()
        try:
            link = self._open_link()
        except WitnessmarkError as error:
            self._tell({"error": {"what": str(error), "hint": error.hint, "reached": error.reached}})
            return None
        talk = Conversation(link, self._clock)
        talk.other_tester_ns = self._other_tester_ns
        peer = peer_of(known)
        talk.expect(peer)
        if known.address.functional:
            talk.expect(Peer(int(known.address.functional, 16), functional=True, extended=peer.extended))
        self.bay = Bay(
            talk=talk,
            record=self._record,
            clock=self._clock,
            boot_id=self._boot_id,
            here_since_ns=self._here_since_ns,
            peer=peer,
            timing=timing_of(known),
            tell=self._tell,
        )
        return self.bay

    def ended(self, actuation: int | None, lost: Callable[[], None]) -> Iterator[Exchange]:
        """Receive, and give the exchanges that ended; the rest is recorded, of `actuation` if one is live."""
        for news in self.bay.talk.pump() if self.bay is not None else ():
            if isinstance(news, Exchange):
                yield news
            else:
                self._unasked(news, actuation, lost)

    def close(self) -> None:
        """Give the link back. A plugin that breaks over it is recorded and told: nothing else depends on it."""
        bay, self.bay = self.bay, None
        if bay is not None:
            self._other_tester_ns = bay.talk.other_tester_ns
            try:
                bay.talk.link.close()
            except LinkError as error:
                self._blame(error, None)

    def _unasked(self, news: News, actuation: int | None, lost: Callable[[], None]) -> None:
        if isinstance(news, Unasked):
            what = "late answer" if news.late else "unasked answer"
            self._events.write(what, "", news.message.payload, actuation, always=True)
        elif isinstance(news, OtherRequest):
            self._events.write(OTHER_TESTER, f"request to {news.target:X}", news.raw, actuation)
            self._tell({"said": "another tester speaks on this bus"})
        elif isinstance(news, Event):
            self._link_event(news, actuation, lost)

    def _link_event(self, event: Event, actuation: int | None, lost: Callable[[], None]) -> None:
        if event.kind in ("accepted", "begun"):
            return  # they only say that the link does its work
        broken = self.bay.talk.broken if self.bay is not None else None
        if broken is not None and event.detail == str(broken):
            self._blame(broken, actuation)
            return
        self._events.write(event.kind, event.detail, event.raw, actuation, always=event.kind == "lost")
        if event.kind == "lost":
            what = f"the link is lost: {event.detail}"
            self._tell({"error": {"what": what, "hint": "check plug and cable", "reached": "maybe"}})
            lost()

    def _blame(self, error: LinkError, actuation: int | None) -> None:
        """Record and tell that the link's plugin broke, the same once."""
        if str(error) != self._blamed:
            self._blamed = str(error)
            self._events.write("plugin broke", str(error), b"", actuation, always=True)
            self._tell({"error": {"what": str(error), "hint": error.hint, "reached": error.reached}})
