"""The picture of a view: what to do in large words, the caution beside it, the keys, and how a run stands.

Rules that hold here: never colour alone (a caution has its word, an unknown outcome its act); a run is *stop sent*,
*stop confirmed* or *unknown*, never just "stopped"; practice time and invented data say so on every picture.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from witnessmark.cli.bay.dialog import Dialog

if TYPE_CHECKING:
    from rich.console import RenderableType

HEARD = "heard running"
UNKNOWN = "UNKNOWN: treat as running; hands clear"
MOST_LINES = 6
BAR = 60


class Screen:
    """Keeps what was said last and draws it under the view. `banner` stands above all."""

    def __init__(self, job: str, banner: str = "") -> None:
        self.job = job
        self.banner = banner
        self.said: list[str] = []
        self.run: dict[str, Any] = {}
        self.cue = ""

    def hear(self, message: dict[str, Any]) -> None:
        """Take a message of the runner that is not a view."""
        if "run" in message:
            self.run, self.cue = message["run"], ""
            result = self.run.get("result")
            if result:
                self.say(f"run {result}; {self.run['state']}")
        elif "cue" in message:
            self.cue = "NOW" if message["cue"] == 0 else str(message["cue"])
        elif "said" in message:
            self.say(str(message["said"]))
        elif "error" in message:
            error = message["error"]
            self.say(f"REFUSED: {error['what']}" if error.get("rule") else f"error: {error['what']}")
            self.say(f"  do: {error['hint']}")

    def say(self, line: str) -> None:
        self.said = [*self.said, line][-MOST_LINES:]

    def draw(self, dialog: Dialog) -> RenderableType:
        """Return the picture as it stands now."""
        from rich.console import Group
        from rich.panel import Panel
        from rich.text import Text

        view = dialog.view
        lines: list[RenderableType] = []
        if self.banner:
            lines.append(Text(self.banner, style="black on yellow"))
        lines.append(Text(view.get("text", ""), style="bold"))
        if view.get("caution"):
            lines.append(Text(f"! CAUTION: {view['caution']}", style="yellow"))
        lines += [Text(f"{name}: {value}") for name, value in view.get("shown", {}).items()]
        lines += self._run(dialog) + _asked(dialog)
        if dialog.complaint:
            lines.append(Text(dialog.complaint, style="bold yellow"))
        lines.append(Text(keys(dialog), style="bold cyan"))
        lines += [Text(line, style="dim") for line in self.said]
        where = f"{view['at']}/{view['of']}" if view.get("of") else ""
        title = f"job {self.job}  {view.get('title', '')}  {where}".strip()
        return Panel(Group(*lines), title=title, title_align="left", padding=(1, 2))

    def _run(self, dialog: Dialog) -> list[RenderableType]:
        from rich.text import Text

        lines: list[RenderableType] = []
        if self.cue:
            lines.append(Text(f"open on the cue: {self.cue}", style="bold reverse"))
        if not self.run or not (dialog.live or self.run.get("state") in ("unknown", HEARD)):
            return lines
        state = str(self.run["state"])
        lines.append(Text(UNKNOWN if state == "unknown" else state, style="bold reverse"))
        if self.run.get("of_s"):
            elapsed, whole = float(self.run.get("elapsed_s", 0)), float(self.run["of_s"])
            lines.append(Text(f"{elapsed:.1f} of {whole:g} s"))
            done = round(BAR * min(elapsed / whole, 1)) if whole else 0
            lines.append(Text("#" * done + "." * (BAR - done), style="bold"))
        return lines


def keys(dialog: Dialog) -> str:
    """Return which keys mean something now, in one line."""
    view = dialog.view
    buttons = [f"[{one['key']}] {one['label']}" for one in view.get("buttons", ())]
    if dialog.live:
        return "   ".join([*buttons, "ANY OTHER KEY: STOP" if buttons else "ANY KEY: STOP"])
    if dialog.asking is not None:
        return f"{dialog.asking['label']}: {dialog.typed}_   [Enter] say it   [Esc] back"
    if dialog.question is not None:
        return "   ".join(
            ["[Y] yes to all of them", "[y] yes, one by one", "[n] no: nothing is sent", *buttons, "[p] pause"]
        )
    if view.get("kind") == "reading":
        buttons.insert(0, f"{dialog.typed}_ {view.get('unit', '')}  [Enter]")
    return "   ".join([*buttons, "[p] pause", "[q] leave"])


def plain(view: dict[str, Any]) -> str:
    """Return a view as plain lines, for an output that is no terminal."""
    parts = [f"-- {view.get('title', '')}".rstrip(), view.get("text", "")]
    if view.get("caution"):
        parts.append(f"CAUTION: {view['caution']}")
    parts += [f"{name}: {value}" for name, value in view.get("shown", {}).items()]
    parts += [f"{one['text']} (y/n)" for one in view.get("questions", ())]
    if view.get("kind") == "reading":
        parts.append(f"limits: {view.get('low') or 'none'} to {view.get('high') or 'none'}, in {view.get('unit', '')}")
    parts.append("   ".join(f"[{one['key']}] {one['label']}" for one in view.get("buttons", ())))
    return "\n".join(part for part in parts if part)


def _asked(dialog: Dialog) -> list[RenderableType]:
    from rich.text import Text

    view = dialog.view
    lines: list[RenderableType] = []
    now = dialog.question["id"] if dialog.question is not None else ""
    for one in view.get("questions", ()):
        if one["id"] in dialog.answers:
            lines.append(Text(f"  yes  {one['text']}"))
        elif one["id"] == now:
            lines.append(Text(f"  ?    {one['text']}", style="bold"))
        else:
            lines.append(Text(f"       {one['text']}", style="dim"))
    if view.get("kind") == "reading" and (view.get("low") or view.get("high")):
        lines.append(Text(f"limits: {view.get('low') or 'none'} to {view.get('high') or 'none'}"))
    return lines
