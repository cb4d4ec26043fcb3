"""The picture of a view: what to do, the caution beside it, how a run stands, and the keys at the bottom.

Rules that hold here: never colour alone (a caution has its word, an unknown outcome its act); a run is *stop sent*,
*stop confirmed* or *unknown*, never just "stopped"; practice time and invented data say so on every picture; the keys
and the question that is asked are never pushed off it; what was said is shown with its time until the next thing is
done; a refusal stands above all that is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from witnessmark.cli.bay.dialog import HANDS, LEAVE_SO, Dialog
from witnessmark.cli.bay.glyphs import large
from witnessmark.cli.bay.layout import LEAST_BODY, Block, Row, key_rows, pages, shortened, wrapped
from witnessmark.clock import NS, Clock, SystemClock
from witnessmark.job.walk.state import SAFETY_LOOK
from witnessmark.quantity import printed

if TYPE_CHECKING:
    from rich.text import Text

HEARD = "heard running"
UNKNOWN = "UNKNOWN: treat as running; hands clear"
MOST_LINES = 6
BAR = 60
CUE_STAYS_S = 3.0
"""How long the word that opens stays on the screen. No source."""
SAYS_WHAT_STANDS = ("paused", "decide", "inspect", "close", "done")
"""Views that list all that stands open; every other has a line for it, where its own words do not say it."""
STILL_UNKNOWN = ("inspect", "paused", "busy", "done")
"""Views that may stand while nobody has looked yet."""
LARGE_FROM = 20
"""Rows that a screen must have for large letters."""


class Screen:
    """Keeps what was said last and draws it under the view; what went `wrong` above it. `banner` stands above all.

    `rate` is how many seconds of the job pass in one: more than 1 only in practice.
    """

    def __init__(self, job: str, banner: str = "", clock: Clock | None = None, rate: int = 1) -> None:
        self.job = job
        self.banner = banner
        self.said: list[str] = []
        self.wrong: list[str] = []
        self.run: dict[str, Any] = {}
        self.cue = ""
        self._inspected = False
        self._clock = clock or SystemClock()
        self._rate = rate
        self._up: tuple[str, int] = ("", 0)

    def hear(self, message: dict[str, Any]) -> None:
        """Take a message of the runner that is not a view."""
        if "run" in message:
            if message["run"].get("state") == HEARD != self.run.get("state"):
                self.wrong = []  # what was wrong before it is mended: it runs
            self.run = message["run"]
            result = self.run.get("result")
            if result or float(self.run.get("elapsed_s", 0)) >= CUE_STAYS_S:
                self.cue = ""
            if result:
                self.say(ended(self.run))
        elif "cue" in message:
            self.cue = "OPEN" if message["cue"] == 0 else str(message["cue"])
        elif "said" in message:
            self.say(str(message["said"]))
        elif "error" in message:
            self.wrong = [*self.wrong, *map(self._stamped, told(message["error"]))][-MOST_LINES:]

    def say(self, line: str) -> None:
        self.said = [*self.said, self._stamped(line)][-MOST_LINES:]

    def clear(self) -> None:
        """Something is done: what was said before it has been read."""
        self.said, self.wrong = [], []

    def _stamped(self, line: str) -> str:
        return f"{datetime.fromtimestamp(self._clock.stamp().wall_ns / NS).strftime('%H:%M:%S')} {line}"

    def draw(self, dialog: Dialog, width: int = 80, height: int = 24) -> Text:
        """Return the picture as it stands now, for a screen of this size; tell `dialog` how many pages it has."""
        from rich.text import Text

        dialog.early = self._early(dialog.view)
        head = self._head(dialog.view, width)
        blocks = self._body(dialog, width, height)
        foot, shown = _lower(dialog, blocks, _typed(dialog), width, height - len(head))
        texts = {row.text for row in shown}
        dialog.unseen = tuple(one["id"] for one, row in _question_rows(dialog, width) if row not in texts)
        if dialog.question is not None and dialog.question["id"] in dialog.unseen:
            asked = wrapped(Block(f"?    {dialog.question['text']}", "bold"), width)
            foot, shown = _lower(dialog, blocks, asked, width, height - len(head))
        empty = [Row("")] * max(0, height - len(head) - len(shown) - len(foot))
        picture = Text(no_wrap=True, end="")
        for place, row in enumerate([*head, *shown, *empty, *foot]):
            picture.append("\n" if place else "")
            picture.append(printed(row.text)[:width], style=row.style or None)
        return picture

    def _head(self, view: dict[str, Any], width: int) -> list[Row]:
        where = f" {view['at']}/{view['of']}" if view.get("of") else ""
        title = shortened(f"job {self.job}  {view.get('title', '')}".strip(), width - len(where))
        rows = [Row(shortened(self.banner, width), "black on yellow")] if self.banner else []
        rows.append(Row((title + where).ljust(width), "reverse"))
        rows += [Row(shortened(hands(view), width), "bold reverse")] if hands(view) else []
        if view.get("opened") and not says_what_is_open(view):
            rows.append(Row(shortened(view["opened"], width), "bold red"))
        return rows

    def _body(self, dialog: Dialog, width: int, height: int) -> list[Block]:
        view = dialog.view
        self._looked(str(view.get("kind")))
        blocks = [*self._run(dialog, width, height), Block("\n".join(self.wrong), "bold red")]
        blocks.append(Block("\n".join(line for line in (second(view), str(view.get("text", ""))) if line), "bold"))
        blocks.append(Block("\n".join(_beside(view, urgent=True)), "bold red"))
        if view.get("takes_s"):
            up = f"{self._up_s(view):.0f} s since this came up; it takes at least {view['takes_s']} s."
            blocks.append(Block(up, "bold reverse"))
        if dialog.complaint:
            blocks.append(Block(dialog.complaint, "bold yellow"))
        blocks += _asked(dialog)
        if view.get("kind") in SAYS_WHAT_STANDS and view.get("stands"):
            blocks.append(Block(" ".join(view["stands"]), "bold"))
        if view.get("caution"):
            blocks.append(Block(f"! CAUTION: {view['caution']}", "yellow"))
        if view.get("fallback"):
            blocks.append(Block(if_not(view), "bold red"))
        return [*blocks, Block("\n".join(_beside(view, urgent=False))), Block("\n".join(self.said), "dim")]

    def _up_s(self, view: dict[str, Any]) -> float:
        """Return how many seconds of the job a view has stood."""
        now_ns, name = self._clock.mono_ns(), str(view.get("id", ""))
        if self._up[0] != name:
            self._up = (name, now_ns)
        return (now_ns - self._up[1]) / NS * self._rate

    def _early(self, view: dict[str, Any]) -> str:
        """Return what is asked of an answer that comes before the time of its step is up; empty once it is."""
        least, up_s = float(view.get("takes_s") or 0), self._up_s(view)
        return f"only {up_s:.0f} s since this came up: did it last {least:g} s?" if up_s < least else ""

    def _looked(self, kind: str) -> None:
        """Forget a run whose end nobody knew once somebody has looked: another view stands than the one that asks."""
        if self.run.get("state") != "unknown":
            self._inspected = False
        elif kind == "inspect":
            self._inspected = True
        elif self._inspected and kind not in STILL_UNKNOWN:
            self.run, self._inspected = {}, False

    def _run(self, dialog: Dialog, width: int, height: int) -> list[Block]:
        blocks: list[Block] = []
        if self.cue:
            drawn = "\n".join(large(self.cue)) if height >= LARGE_FROM else f">>> {self.cue} <<<"
            blocks.append(Block(drawn, "bold", kept=True))
        if not self.run or not (dialog.live or self.run.get("state") in ("unknown", HEARD)):
            return blocks
        state = str(self.run["state"])
        stands = UNKNOWN if state == "unknown" else state
        if self.run.get("of_s") and (state != "unknown" or self.run.get("elapsed_s")):
            elapsed, whole = float(self.run.get("elapsed_s", 0)), float(self.run["of_s"])
            bar = min(BAR, width)  # all of it stands on the screen: half a bar is half the time
            done = round(bar * min(elapsed / whole, 1)) if whole else 0
            over = f": ITS {whole:g} s ARE OVER" if state == HEARD and elapsed > whole else ""
            blocks.append(Block(f"{stands}: {elapsed:.1f} of {whole:g} s{over}", "bold reverse"))
            blocks.append(Block("#" * done + "." * (bar - done), "bold", kept=True))
        else:
            blocks.append(Block(stands, "bold reverse"))
        return [*blocks, Block(str(self.run.get("note", "")), "bold red")]


def says_what_is_open(view: dict[str, Any]) -> bool:
    """Return whether a view tells by itself which nipple stands open, or that the feed is under pressure."""
    own = str(view.get("text", "")).lower()
    return view.get("kind") in SAYS_WHAT_STANDS or str(view.get("opened", "")).lower().rstrip(".") in own


def hands(view: dict[str, Any]) -> str:
    """Return whose hands they are, in wide letters; empty where nobody else is signed on."""
    if not view.get("hands"):
        return ""
    other = view["hands"] != view.get("at_screen")
    return f"HANDS:  {' '.join(view['hands'].upper())}" + (f"   entered by {view['at_screen']}" if other else "")


def second(view: dict[str, Any]) -> str:
    """Return by whom a step is done that needs a second person; empty for any other."""
    return f"BY THE SECOND PERSON: {view.get('second') or 'who else is here'}" if view.get("person") == "second" else ""


def if_not(view: dict[str, Any]) -> str:
    """Return what is done by hand where a run does not stop: no order as long as it does."""
    return f"IF IT DOES NOT STOP: {view['fallback']}"


def ended(run: Mapping[str, Any]) -> str:
    """Return how a run ended: whether the stop is confirmed, and why and when where its time was not up."""
    result, why = str(run["result"]), run.get("why")
    after = f", after {run['elapsed_s']} s" if run.get("elapsed_s") and result != "completed" else ""
    return f"run {result}; {run['state']}{after}{f': {why}' if why else ''}"


def told(error: dict[str, Any]) -> list[str]:
    """Return an error as lines: what it is, and what to do where there is anything to do."""
    what = f"REFUSED: {error['what']}" if error.get("rule") else f"error: {error['what']}"
    return [what, f"  do: {error['hint']}"] if error.get("hint") else [what]


def keys(dialog: Dialog) -> list[str]:
    """Return which keys mean something now."""
    view = dialog.view
    buttons = [f"[{one['key']}] {one['label']}" for one in view.get("buttons", ())]
    if dialog.live:
        return [*buttons, "ANY OTHER KEY: STOP" if buttons else "ANY KEY: STOP"]
    if dialog.asking is not None:
        if dialog.picking:
            reasons = [f"[{number}] {one}" for number, one in enumerate(dialog.asking["reasons"], 1)]
            return [*reasons, "[0] other words", "[Esc] back"]
        return ["[Enter] say it", "[Esc] back"]
    if dialog.leaving:
        return [f"[{LEAVE_SO}] leave it as it stands", *buttons]
    leave = ["[q] leave"] if view.get("kind") in ("paused", "done", "inspect") else ["[p] pause", "[q] leave"]
    if view.get("hands") and view.get("kind") != "armed":
        leave = [f"[{HANDS}] other hands", *leave]
    if view.get("kind") == "armed":
        return [*buttons, *leave, "ANY OTHER KEY: not armed any more, nothing is sent"]
    if dialog.question is not None:
        own = dialog.question.get("alone") or any(one["key"] == "a" for one in view.get("buttons", ()))
        every = [] if own else ["[a] yes to all of them"]
        no = "nothing is opened" if view.get("step") == SAFETY_LOOK else "nothing is sent"
        return [*every, "[y] yes, this one", f"[n] no: {no}", *buttons, *leave]
    if dialog.asks_nothing:
        buttons.insert(0, "[y] arm")
    if view.get("kind") == "reading":
        buttons.insert(0, "[Enter] take it")
    return [*buttons, *leave]


def _beside(view: dict[str, Any], *, urgent: bool) -> list[str]:
    """Return what a view shows beside its text: what is urgent has its name in capitals and stands first."""
    return [f"{name}: {value}" for name, value in view.get("shown", {}).items() if name.isupper() is urgent]


def plain(view: dict[str, Any]) -> str:
    """Return a view as plain lines, for an output that is no terminal."""
    opened = "" if says_what_is_open(view) else view.get("opened", "")
    parts = [f"-- {view.get('title', '')}".rstrip(), hands(view), opened, second(view), view.get("text", "")]
    parts += view.get("stands", ()) if view.get("kind") in SAYS_WHAT_STANDS else ()
    if view.get("caution"):
        parts.append(f"CAUTION: {view['caution']}")
    if view.get("fallback"):
        parts.append(if_not(view))
    parts += [f"{name}: {value}" for name, value in view.get("shown", {}).items()]
    parts += [f"{one['text']} (y/n)" for one in view.get("questions", ())]
    if view.get("takes_s"):
        parts.append(f"it takes at least {view['takes_s']} s")
    if view.get("kind") == "reading":
        parts += [f"{limits(view) or 'no limits'}, in {view.get('unit', '')}", read_with(view)]
    parts.append("   ".join(f"[{one['key']}] {one['label']}" for one in view.get("buttons", ())))
    return printed("\n".join(part for part in parts if part))


def limits(view: dict[str, Any]) -> str:
    """Return the limits of a reading in words, empty where it has none."""
    low, high = view.get("low"), view.get("high")
    if low and high:
        return f"limits: {low} to {high}"
    return f"limits: at most {high}" if high else f"limits: at least {low}" if low else ""


def read_with(view: dict[str, Any], other: str = "") -> str:
    """Return with what a reading is read, `other` where one was named; empty where the procedure names nothing."""
    if other:
        return f"read with: {other}"
    return f"read with: {view['instrument']}" if view.get("instrument") else ""


def _lower(
    dialog: Dialog, blocks: list[Block], above: list[Row], width: int, height: int
) -> tuple[list[Row], list[Row]]:
    """Return the keys, with `above` over them, and the page that shows; tell how many there are."""
    room = max(LEAST_BODY, height - LEAST_BODY - len(above))
    foot = [*above, *(Row(row, "bold cyan") for row in key_rows(keys(dialog), width, room))]
    body = pages(blocks, width, max(1, height - len(foot)), not dialog.live)
    dialog.pages = len(body)
    return foot, body[dialog.page % len(body)]


def _question_rows(dialog: Dialog, width: int) -> list[tuple[dict[str, Any], str]]:
    """Return each question with the last row of it as it stands in the body."""
    lines = (line for block in _asked(dialog) for line in block.text.split("\n"))
    found = zip(dialog.view.get("questions", ()), lines, strict=False)
    return [(one, wrapped(Block(line), width)[-1].text) for one, line in found]


def _typed(dialog: Dialog) -> list[Row]:
    """The line in which something is typed, right above the keys."""
    if dialog.live:
        return []
    if dialog.asking is not None:
        label = dialog.asking["label"]
        return [Row(label if dialog.picking else f"{label}: {dialog.typed}_", "bold")]
    if dialog.view.get("kind") == "reading":
        return [Row(f"> {dialog.typed}_ {dialog.view.get('unit', '')}", "bold")]
    return []


def _asked(dialog: Dialog) -> list[Block]:
    view = dialog.view
    if view.get("kind") == "reading":
        return [Block("\n".join(line for line in (limits(view), read_with(view, dialog.instrument)) if line))]
    now = dialog.question["id"] if dialog.question is not None else ""
    lines = []
    for one in view.get("questions", ()):
        mark = "yes" if one["id"] in dialog.answers else "?" if one["id"] == now else "-"
        lines.append(f"{mark:4} {one['text']}")
    return [Block("\n".join(lines))]
