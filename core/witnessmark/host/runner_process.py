"""The runner as a process of its own: `python -m witnessmark.host.runner_process --fd N --journal P --job ID ...`.

Flows in: a socket to the face, a journal's path, a job, a link's address, who is signed on. Flows out: the exit code.
Rules that hold here: it alone opens link and journal for this job; the lock is held for its life, so that a second one
is refused; SIGTERM, SIGHUP and SIGQUIT stop what runs and end it, SIGINT is the face's; it imports no web, numpy, pint
or rich.
"""

from __future__ import annotations

import argparse
import contextlib
import signal
import socket
import sys
from collections.abc import Iterator
from pathlib import Path

import msgspec

from witnessmark.clock import Clock, SystemClock, boot_id
from witnessmark.errors import LinkError, WitnessmarkError
from witnessmark.host import plugins
from witnessmark.host.folded import check_here, folded
from witnessmark.host.speaking import clock_of
from witnessmark.host.work_before import with_work_before
from witnessmark.job.allowed import first_use
from witnessmark.job.journal_thread import JournalThread
from witnessmark.job.record import KIND_OF, MACHINE
from witnessmark.job.runner import Runner
from witnessmark.job.walk import leaving
from witnessmark.job.walk.fold import advance
from witnessmark.job.walk.state import WITNESSED, JobState
from witnessmark.journal import lock as locks
from witnessmark.journal.bodies import GRADES, State, StepDone, to_body
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.people.person import ROLES, Person

SWITCH_S = 0.0005
"""How long one thread may keep the other waiting: the journal thread must not delay a stop."""
REFUSED, FAILED = 2, 70
GOES_ON = {
    "sent": "From here on runs are sent by us.",
    "heard": "From here on another tester runs it, and we listen: stop it there.",
    "told": "From here on another tester runs it, and you say when: stop it there.",
}
"""What is said on the screen as it changes how runs are witnessed."""


def main(arguments: list[str] | None = None) -> int:
    """Run one job until it ends; return 0, or REFUSED when it could not begin (the face has been told why)."""
    asked = _parse(arguments)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.setswitchinterval(SWITCH_S)
    face = socket.socket(fileno=asked.fd)
    try:
        return _run(asked, face)
    except WitnessmarkError as error:
        _tell(face, {"what": str(error), "hint": error.hint, "reached": error.reached, "fatal": True})
        return REFUSED
    except Exception as error:
        what = f"the runner failed: {type(error).__name__}: {error}"
        _tell(face, {"what": what, "hint": "treat what was running as running", "reached": "maybe", "fatal": True})
        raise


def _run(asked: argparse.Namespace, face: socket.socket) -> int:
    person = Person(asked.person, asked.role)
    clock = clock_of(asked.link) if asked.link else SystemClock()
    with (
        locks.Lock(locks.path_of(asked.journal), asked.who, SystemClock(), asked.job, asked.person),
        Journal.open(asked.journal, clock, write=True) as journal,
    ):
        check_here(journal, asked.job)
        if said := _take_up(journal, asked.job, person, clock):
            _say(face, {"said": said})
        state = folded(journal, asked.job, first_use.tried_of(journal.entries(kind="first-use")))
        if asked.grade and asked.grade != state.grade:
            if state.status in ("open", "paused"):
                state = _witnessed(journal, state, asked.grade, person)
                said = f"{GOES_ON[asked.grade]} So it stays until another --grade is given."
            else:
                said = f"The job is {state.status}: no run follows, so --grade {asked.grade} is not written into it."
            _say(face, {"said": said})
        state = with_work_before(journal, state, clock.stamp(), boot_id())
        thread = JournalThread(journal)
        try:
            with _signals() as (wakeup, told):
                runner = Runner(
                    lambda: open_live(asked.link, clock, listen_only="heard" in (state.grade, asked.grade)),
                    thread,
                    clock,
                    state=state,
                    approvals=lambda: _leave(journal),
                    person=person,
                    face=face,
                    boot_id=boot_id(),
                    wakeup=wakeup,
                )
                told.append(runner)
                runner.run()
        finally:
            thread.close()
    return 0


def _leave(journal: Journal) -> list[Entry]:
    """Return the entries that say what may be sent, in the journal's order."""
    found = [entry for kind in first_use.KINDS for entry in journal.entries(kind=kind)]
    return sorted(found, key=lambda entry: entry.seq)


def _take_up(journal: Journal, job: str, person: Person, clock: Clock) -> str:
    """Write how the program before ended, as far as is known, and that a job which lay goes on; return what is said."""
    state, entries = folded(journal, job), tuple(journal.entries(job))
    since = next((one.seq for one in journal.entries(kind=leaving.KIND)), None)
    found = list(leaving.take_up(state, entries, clock.stamp().wall_ns, since))
    drafts = [
        Draft(
            KIND_OF[type(body)],
            job,
            person.actor if isinstance(body, State) else MACHINE,
            person.actor,
            when,
            to_body(body),
        )
        for body, when, _ in found
    ]
    if drafts:
        journal.append_many(drafts)
    return " ".join(said for _, _, said in found if said)


def _witnessed(journal: Journal, state: JobState, grade: str, person: Person) -> JobState:
    """Write how runs are witnessed from here on, whoever goes on with the job, and return the state after it."""
    body = to_body(StepDone(step=WITNESSED, act="confirmed", answer=grade))
    return advance(state, journal.append(Draft("step", state.job, person.actor, body=body)))


def open_live(link: str, clock: Clock, *, listen_only: bool) -> FrameLink | MessageLink:
    """Open the link of a job. Raises LinkError for none, and for one at which no vehicle is: a recording."""
    if not link:
        raise LinkError("this job has no link", kind="missing", hint="name one with --link", reached="nothing")
    opened = plugins.open_link(link, clock, listen_only)
    if not opened.capabilities.live:
        opened.close()
        raise LinkError(
            f"{link} plays a recording: no vehicle is there",
            kind="refused",
            hint="name the interface that the vehicle is on with --link; `witnessmark decode` shows a recording",
            reached="nothing",
        )
    return opened


@contextlib.contextmanager
def _signals() -> Iterator[tuple[socket.socket, list[Runner]]]:
    """Make SIGTERM, SIGHUP and SIGQUIT end the runners in the list; the socket is readable when one has come."""
    ours, theirs = socket.socketpair()
    ours.setblocking(False)
    theirs.setblocking(False)
    told: list[Runner] = []

    def end(number: int, _frame: object) -> None:
        for runner in told:
            runner.leave(signal.Signals(number).name)

    signal.set_wakeup_fd(theirs.fileno(), warn_on_full_buffer=False)
    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT):
        signal.signal(number, end)
    try:
        yield ours, told
    finally:
        signal.set_wakeup_fd(-1)
        ours.close()
        theirs.close()


def _tell(face: socket.socket, error: dict[str, object]) -> None:
    _say(face, {"error": error})


def _say(face: socket.socket, message: dict[str, object]) -> None:
    face.setblocking(True)
    with contextlib.suppress(OSError):  # the face is gone: there is nobody to tell
        face.sendall(msgspec.json.encode(message) + b"\n")


def _parse(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="witnessmark.host.runner_process")
    parser.add_argument("--fd", type=int, required=True, help="the socket to the face")
    parser.add_argument("--journal", type=Path, required=True)
    parser.add_argument("--job", required=True)
    parser.add_argument("--link", default="", help="the link's address; empty: none")
    parser.add_argument("--person", required=True, help="who is signed on")
    parser.add_argument("--role", choices=ROLES, default="technician")
    parser.add_argument("--grade", choices=GRADES, help="how runs are witnessed until another is given")
    parser.add_argument("--who", default="job run", help="what holds the journal, in words")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
