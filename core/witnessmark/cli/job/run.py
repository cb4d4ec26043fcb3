"""`witnessmark job run JOB`: the bay's terminal. One key for a manual step, digits for a reading, any key to stop.

It is a face: it draws what the runner shows and sends what is pressed. Stop is sent before anything else is thought
of, on a key, on Ctrl-C (and the keys that suspend and quit), on a terminal that is gone; what came of it is told before
the program ends.
"""

from __future__ import annotations

import contextlib
import os
import select
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import click

from witnessmark.cli.bay.goodbye import ending_words, fitted, goodbye, over
from witnessmark.cli.options import by_option, shop_option
from witnessmark.clock import NS, SystemClock
from witnessmark.errors import LocalError, WitnessmarkError

if TYPE_CHECKING:
    from witnessmark.cli.bay.dialog import Dialog
    from witnessmark.cli.bay.keyboard import Keyboard
    from witnessmark.cli.bay.screen import Screen
    from witnessmark.hookspecs import Practice
    from witnessmark.host.face import RunnerHandle
    from witnessmark.host.shop import Shop

CANNOT_DRAW = ("", "dumb", "unknown")
"""Values of TERM under which nothing is drawn: a key would answer what nobody could read."""
REDRAW_S = 0.2
AFTER_RUN_S = 0.3
"""How long after a run has ended a key still counts as the stop that it was meant for. No source."""
DROPPED = "what was pressed before this was on the screen did nothing"


@click.command()
@click.argument("job")
@by_option
@click.option("--link", default="", metavar="ADDRESS", help="Another interface than the one the job was opened with.")
@click.option("--grade", type=click.Choice(["sent", "heard", "told"]), default=None,
              help="How runs are witnessed from here on, until another is given. heard: another tester runs it "
                   "and we listen; told: you press started and ended. Stop it on the other tester.")  # fmt: skip
@shop_option
def run(job: str, by: str, link: str, grade: str | None, shop: Shop) -> None:
    """Walk through a job, from where it stands."""
    import msgspec

    from witnessmark.host import plugins
    from witnessmark.host.face import RunnerHandle
    from witnessmark.host.folded import check_here, folded
    from witnessmark.host.speaking import unknown_to_hands
    from witnessmark.job.screens.take_up_view import take_up_view
    from witnessmark.people.person import Person

    _need_keys()
    with shop.read() as journal:
        journal.job_texts(job)
        check_here(journal, job)
        state = folded(journal, job)
    address = link or state.link
    workshop = plugins.practice(address) if address else None
    if strange := unknown_to_hands(workshop, (one.id for one in state.procedure.nipples)):
        click.echo(f"note: {strange}", err=True)
    banner = "" if workshop is None else f"PRACTICE at {workshop.rate}x: no real vehicle"
    if not banner and state.procedure.invented:
        banner = "INVENTED: never on a real vehicle"
    with RunnerHandle.spawn(shop.journal_path, job, Person(by), link=address, grade=grade or "") as handle:
        face = _face(handle, job, banner, workshop, lambda: _left_open(shop, job))
        code = face.watch(msgspec.to_builtins(take_up_view(state)))
    raise click.exceptions.Exit(code)


def _left_open(shop: Shop, job: str) -> tuple[str, ...]:
    from witnessmark.host.left_open import left_open

    try:
        return left_open(shop, job)
    except Exception as error:  # noqa: BLE001 - said besides: whatever it is, it must not end the walk
        why = str(error) if isinstance(error, WitnessmarkError) else f"{type(error).__name__}: {error}"
        return (f"What the audit leaves open cannot be told: {' '.join(why.split())}",)


def _face(
    handle: RunnerHandle, job: str, banner: str, workshop: Practice | None, left_open: Callable[[], tuple[str, ...]]
) -> Face:
    from witnessmark.cli.bay.dialog import Dialog
    from witnessmark.cli.bay.keyboard import Keyboard
    from witnessmark.cli.bay.screen import Screen

    rate = workshop.rate if workshop is not None else 1
    return Face(handle, Dialog(), Screen(job, banner, rate=rate), Keyboard(), workshop, left_open)


class Face:
    """Keys and screen of one runner, until it is gone or the person leaves. `workshop` follows in practice.

    `left_open` tells what the audit leaves open: it is asked where only finishing the job is left.
    """

    def __init__(
        self,
        handle: RunnerHandle,
        dialog: Dialog,
        screen: Screen,
        keyboard: Keyboard,
        workshop: Practice | None,
        left_open: Callable[[], tuple[str, ...]] = tuple,
    ) -> None:
        self._handle = handle
        self._dialog = dialog
        self._screen = screen
        self._keyboard = keyboard
        self._workshop = workshop
        self._left_open = left_open
        self._at_end: dict[str, Any] = {}
        self._leaving = False
        self._code = 0
        self._ran_ns = 0
        self._last_words: list[str] = []
        self._seen = True

    def watch(self, first: dict[str, Any]) -> int:
        """Show the `first` view, then go on until the end; return the exit code."""
        self._hear({"view": first})
        with self._keyboard, _interrupts(self._interrupted, self._lost), self._picture() as picture:
            while not self._handle.gone and not self._leaving:
                ends: list[Any] = [self._handle, self._keyboard]
                ready, _, _ = select.select(ends, [], [], REDRAW_S)
                if self._keyboard in ready:
                    self._keys()
                if self._handle in ready:
                    for message in self._handle.receive():
                        self._hear(message)
                picture()
            self._part(picture)
        if self._seen:
            lines = goodbye(self._dialog.view, self._last_words, self._screen.run, gone=self._handle.gone)
            for line in fitted(lines, shutil.get_terminal_size().columns) if sys.stdout.isatty() else lines:
                click.echo(line)
        return self._code

    def _part(self, picture: Any) -> None:
        """Leave: hear to its end what the runner does with a run that was live, and show it."""
        from witnessmark.host.face import LEAVE_S

        self._leaving = True
        self._handle.part()
        end_ns = SystemClock().mono_ns() + round(LEAVE_S * NS)
        while not self._handle.gone and SystemClock().mono_ns() < end_ns:
            for message in self._handle.receive(REDRAW_S):
                self._hear(message)
            picture()
        if self._dialog.view.get("kind") == "inspect":  # it may have come only after the wish to leave
            self._code = 3  # an actuation whose end nobody knows is left behind

    def _keys(self) -> None:
        self._press(self._keyboard.read())

    def _press(self, keys: list[str]) -> None:
        from witnessmark.cli.bay.dialog import LEAVE_SO

        for key in keys:
            leaves = key == "q" or (self._dialog.leaving and key == LEAVE_SO)  # neither says anything of the vehicle
            if not leaves and not self._dialog.live and SystemClock().mono_ns() - self._ran_ns < AFTER_RUN_S * NS:
                self._screen.say("the run has just ended: that key did nothing")
                continue
            done = self._dialog.press(key)
            if done is not None:
                self._screen.clear()
            if done == "stop":
                self._handle.stop()
            elif done == "leave":
                self._handle.send({"do": "leave"})
                self._leaving = True
            elif isinstance(done, dict):
                self._follow(done)  # what is said to be done was done before it is said
                self._handle.send(done)
        if self._keyboard.gone:
            self._lost()

    def _drop_keys(self) -> None:
        """Drop the keys of a wait: none of them was meant for the view that came after it. `q` alone still leaves."""
        if select.select([self._keyboard], [], [], 0)[0]:
            keys = self._keyboard.read()
            self._press(["q"] if "q" in keys else [])
            if keys and "q" not in keys:
                self._screen.say(DROPPED)
                if not sys.stdout.isatty():
                    click.echo(DROPPED)

    def _hear(self, message: dict[str, Any]) -> None:
        aged = "view" in message and message["view"].get("id") == self._dialog.view.get("id")
        waited = self._at_end
        if "view" in message:
            message = {**message, "view": self._told_open(message["view"])}
            self._dialog.show(message["view"])
            self._see(message["view"])
            self._leaving = self._leaving or over(message["view"])  # what is over holds neither journal nor link
        else:
            self._screen.hear(message)
        if self._leaving or message.get("error", {}).get("fatal"):
            self._last_words += ending_words(message)
        if "run" in message:
            was_live, self._dialog.run_state = self._dialog.live, message["run"]["state"]
            if was_live and message["run"].get("result"):
                self._ran_ns = SystemClock().mono_ns()
            if self._leaving and message["run"].get("result") == "unknown":
                self._code = 3
        if message.get("cue") == 0 and (workshop := self._workshop) is not None:
            self._by_hand(lambda: workshop.on_cue(self._dialog.view))
        if message.get("error", {}).get("fatal"):
            self._code = 3
        if not sys.stdout.isatty() and not aged:
            _print_plainly(message)
        if self._at_end is not waited:
            self._drop_keys()

    def _told_open(self, view: dict[str, Any]) -> dict[str, Any]:
        """Return a view, that of the end of the walk with what is open before the job is finished: once for each."""
        if view.get("kind") != "done" or not view.get("buttons") or self._leaving:
            return view
        if self._at_end.get("id") != view.get("id"):
            self._at_end = {"id": view.get("id"), "lines": self._left_open()}
        return {**view, "text": "\n".join(filter(None, (view.get("text", ""), *self._at_end["lines"])))}

    def _see(self, view: dict[str, Any]) -> None:
        workshop = self._workshop
        if workshop is not None and not self._leaving and (seen := self._by_hand(lambda: workshop.prepare(view))):
            self._screen.say(f"practice hands see: {seen}")

    def _follow(self, command: dict[str, Any]) -> None:
        if (workshop := self._workshop) is not None:
            self._by_hand(lambda: workshop.follow(self._dialog.view, command))

    def _by_hand(self, act: Callable[[], str | None]) -> str:
        """Let the practice hands act; return what they see. What they cannot do is said, and the job stays on."""
        try:
            return act() or ""
        except WitnessmarkError as error:
            message = {"error": {"what": f"the practice hands could not do it: {error}", "hint": error.hint}}
            self._screen.hear(message)
            if not sys.stdout.isatty():
                _print_plainly(message)
            return ""

    def _lost(self) -> None:
        """The screen is gone: the runner hears that at once from the end of the line, and stops what runs."""
        self._leaving, self._seen = True, False
        self._handle.part()

    def _interrupted(self) -> None:
        """Ctrl-C: stop first, then leave. The runner writes the outcome before it ends."""
        self._handle.stop()
        self._leaving = True

    @contextlib.contextmanager
    def _picture(self) -> Iterator[Any]:
        if not sys.stdout.isatty():
            yield lambda: None
            return
        from rich.live import Live

        with Live(screen=True, auto_refresh=False) as live:
            yield lambda: self._redraw(live)

    def _redraw(self, live: Any) -> None:
        if self._seen:
            live.update(self._screen.draw(self._dialog, *live.console.size), refresh=True)


@contextlib.contextmanager
def _interrupts(act: Any, lost: Any) -> Iterator[None]:
    """Call `act` on every signal that ends or suspends a program at a terminal, `lost` when that hangs up."""
    acts = dict.fromkeys((signal.SIGINT, signal.SIGTERM, signal.SIGQUIT, signal.SIGTSTP), act) | {signal.SIGHUP: lost}
    before = {number: signal.signal(number, lambda *_, do=do: do()) for number, do in acts.items()}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _need_keys() -> None:
    """Raise LocalError where nobody can press a key, or see what a key would answer."""
    if not sys.stdin.isatty():
        raise LocalError(
            "there is no terminal to take keys from", hint="start it in a terminal; what was done earlier: job enter"
        )
    kind = os.environ.get("TERM", "").lower()
    if sys.stdout.isatty() and kind in CANNOT_DRAW:
        raise LocalError(
            f"this terminal cannot show the screen (TERM is {kind or 'not set'})",
            hint="start it in another terminal, or say what this one is: TERM=xterm",
        )


def _print_plainly(message: dict[str, Any]) -> None:
    from witnessmark.cli.bay.screen import ended, plain, told

    if "view" in message:
        click.echo(plain(message["view"]))
    elif "error" in message:
        click.echo("\n".join(told(message["error"])), err=True)
    elif "said" in message:
        click.echo(message["said"])
    elif message.get("run", {}).get("result"):
        click.echo(ended(message["run"]))
