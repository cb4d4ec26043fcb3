"""Moments of the timeline as a sheet shows them.

Ranges in ns on the audit's clock flow in, plain values flow out. Rules that hold here: a moment is given in whole
milliseconds since the start of the job (None where nobody knows) and as text; a time of day is printed in the zone of
the sheet, which the sheet names (RFC 3339 in the facts); what is uncertain is printed with its uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, timedelta, tzinfo
from typing import Any

from witnessmark.audit import say
from witnessmark.range import FOREVER, Range, Span

NS = 1_000_000_000


def vague(moment: Range) -> bool:
    """Say whether a moment is bounded, and so widely that only its day is known: a card on which no time is written."""
    whole = moment.low % NS == 0  # as a day begins; what a machine bounds begins at no whole second
    return whole and say.is_vague(moment) and moment.high - moment.low < FOREVER // 2


def uncertain(moment: Range) -> int:
    """Return by how much a moment is uncertain each way (ns), 0 where that is too little to be told."""
    half = (moment.high - moment.low) // 2
    return 0 if half < NS // 20 else half


@dataclass(frozen=True, slots=True)
class Times:
    """The start of the job (ns since 1970 UTC) and the zone of the sheet."""

    start: int
    zone: tzinfo = UTC

    def date(self, ns: int) -> str:
        return self._printed(ns, "%Y-%m-%d")

    def clock(self, ns: int) -> str:
        """Return the time of day, `15:06:40`; with its date when that is not the date the job began."""
        same = self.date(ns) == self.date(self.start)
        return self._printed(ns, "%H:%M:%S" if same else "%Y-%m-%d %H:%M:%S")

    def stamp(self, ns: int) -> str:
        """Return RFC 3339 text in UTC, to the millisecond."""
        try:
            moment = say.EPOCH + timedelta(microseconds=ns // 1000)
        except OverflowError:
            return say.NO_CALENDAR
        return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def zone_name(self, ns: int) -> str:
        moment = say.moment(ns, self.zone) or say.EPOCH.astimezone(self.zone)
        offset = moment.strftime("%z")
        name = moment.tzname() or ""
        return "UTC" if not offset.strip("+-0") else f"{name} (UTC{offset[:3]}:{offset[3:]})"

    def ms(self, ns: int) -> int | None:
        """Return ms since the start of the job, None for a moment nobody knows."""
        return None if abs(ns) >= FOREVER // 2 else round((ns - self.start) / 1_000_000)

    def moment(self, moment: Range) -> dict[str, Any]:
        low, high = (None, None) if vague(moment) else (self.ms(moment.low), self.ms(moment.high))
        return {"low_ms": low, "high_ms": high, "text": self.text(moment)}

    def text(self, moment: Range) -> str:
        """Return `15:06:40`, `15:06:40 +-1.0 s`, `after 15:06:40` or `not known`."""
        low, high = self.ms(moment.low), self.ms(moment.high)
        if low is None and high is None:
            return "not known"
        if vague(moment):
            return f"{self.date((moment.low + moment.high) // 2)}, time not known"
        if high is None:
            return f"after {self.clock(moment.low)}"
        if low is None:
            return f"before {self.clock(moment.high)}"
        middle, half = self.clock((moment.low + moment.high) // 2), uncertain(moment)
        return f"{middle} \u00b1{say.seconds(half)}" if half else middle

    def span(self, span: Span) -> dict[str, Any]:
        lasted = span.length()
        if vague(span.start) or vague(span.end):
            return self._vague(span)
        known = self.ms(span.end.high) is not None and self.ms(span.start.low) is not None
        return {
            "from": self.moment(span.start),
            "to": self.moment(span.end),
            "lasted": say.length(lasted) if known else "not known",
        }

    def _vague(self, span: Span) -> dict[str, Any]:
        """Return a span of which one end or both are only known by the day: it is drawn as far as it is known."""
        start, end = self.moment(span.start), self.moment(span.end)
        if not vague(span.end):
            start["high_ms"] = end["high_ms"] if end["low_ms"] is None else end["low_ms"]
        elif not vague(span.start):
            end["low_ms"] = start["high_ms"]
        return {"from": start, "to": end, "lasted": "not known"}

    def _printed(self, ns: int, form: str) -> str:
        moment = say.moment(ns, self.zone)
        return say.NO_CALENDAR if moment is None else moment.strftime(form)
