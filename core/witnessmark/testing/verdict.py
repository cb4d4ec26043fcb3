"""How a rule says that a link broke it, and how the kit waits without hanging on a link that never returns."""

from __future__ import annotations

import os
import threading
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Generic, TypeVar

from witnessmark.clock import NS, Stamp, SystemClock
from witnessmark.errors import LinkError, WitnessmarkError

Result = TypeVar("Result")

PATIENCE_S = 8.0
"""How long the kit gives a link before it says that nothing came. Generous: a loaded machine is no broken link."""
LONG_WAIT_S = 3600.0
"""A wait that only an interrupt, a close or an unplugged wire ends."""
KINDS = {"missing", "busy", "permission", "no_answer", "garbled", "gone", "stuck", "bus_off"}
"""What `LinkError.kind` may be."""


class ContractBroken(AssertionError):
    """A link breaks a rule of its port; the text says which and how."""


def require(kept: object, broken: str) -> None:
    """Raise ContractBroken with the sentence `broken` unless `kept` is true. Works under `python -O` too."""
    if not kept:
        raise ContractBroken(broken)


class Aside(Generic[Result]):
    """One call on a thread of its own."""

    def __init__(self, call: Callable[[], Result]) -> None:
        self._call = call
        self._outcome: list[Result] = []
        self._error: list[BaseException] = []
        self._thread = threading.Thread(target=self._run, name="contract aside", daemon=True)
        self._thread.start()

    def result(self, broken: str, patience_s: float) -> Result:
        """Return what the call gave. Raises what it raised; ContractBroken with `broken` when it does not return."""
        self._thread.join(patience_s)
        require(not self._thread.is_alive(), broken)
        if self._error:
            raise self._error[0]
        return self._outcome[0]

    @property
    def done(self) -> bool:
        """Whether the call has come back."""
        return not self._thread.is_alive()

    def raise_failure(self) -> None:
        """Raise what the call raised so far, nothing while it runs or went well."""
        if self._error:
            raise self._error[0]

    def _run(self) -> None:
        try:
            self._outcome.append(self._call())
        except BaseException as error:  # noqa: BLE001 - raised again in the thread that asks
            self._error.append(error)


def pause(seconds: float) -> None:
    """Let real time pass, for what cannot be seen from outside (a wait that has begun)."""
    threading.Event().wait(seconds)


class OtherClock(SystemClock):
    """The clock of a host that lives an hour ahead: a link that looks at a clock of its own shows."""

    AHEAD_NS = 3600 * NS

    def stamp(self, device_ns: int | None = None) -> Stamp:
        now = super().stamp(device_ns)
        return replace(now, wall_ns=now.wall_ns + self.AHEAD_NS, mono_ns=now.mono_ns + self.AHEAD_NS)

    def mono_ns(self) -> int:
        return super().mono_ns() + self.AHEAD_NS


def by_the_clock(stamps: Sequence[Stamp], before: Stamp, after: Stamp) -> None:
    """Require that stamps lie between two of the clock the link was given, on the wall's time to the second."""
    require(stamps, "there is nothing to look at: no frame or message came")
    for one in stamps:
        require(
            before.mono_ns <= one.mono_ns <= after.mono_ns, "a monotonic stamp is of another clock than it was given"
        )
        kept = before.wall_ns - NS <= one.wall_ns <= after.wall_ns + NS
        require(kept, "a wall stamp is of another clock than it was given")


def sends_soon(send: Callable[[], Stamp], slowest_s: float, patience_s: float) -> None:
    """Require that one of three sendings returns within `slowest_s`: the fastest, for a machine may be busy."""
    clock = SystemClock()
    took_s = []
    for _ in range(3):
        start_ns = clock.mono_ns()
        Aside(send).result("send() does not return", patience_s)
        took_s.append((clock.mono_ns() - start_ns) / NS)
        if took_s[-1] <= slowest_s:
            return
    require(False, f"the fastest of 3 sendings took {min(took_s):.1f} s: a stop would wait as long")


def told(error: BaseException, *classes: type[WitnessmarkError]) -> None:
    """Require that an error is one of the tree's `classes` and says what to do and how far the request got."""
    names = " or ".join(one.__name__ for one in classes)
    require(isinstance(error, classes), f"it raised {type(error).__name__} ({error}), not {names}")
    assert isinstance(error, WitnessmarkError)
    require(error.hint.strip(), f"the error {error.what!r} has no hint")
    require(error.reached in ("nothing", "maybe", "all"), f"`reached` of the error is {error.reached!r}")
    if isinstance(error, LinkError):
        require(error.kind in KINDS, f"the error's kind {error.kind!r} is not one of {sorted(KINDS)}")


def threads() -> set[threading.Thread]:
    """Return the threads that run now, but for the kit's own."""
    return {one for one in threading.enumerate() if one.name != "contract aside"}


def descriptors() -> Counter[str] | None:
    """Return what this process holds open and how often; None where the system does not tell.

    By what it is and not by its number: a far end in the same process may open anew what it closed.
    """
    folder = Path("/proc/self/fd")
    if not folder.is_dir():
        return None
    held: Counter[str] = Counter()
    for name in os.listdir(folder):
        try:
            held[os.readlink(folder / name)] += 1
        except OSError:
            continue  # the descriptor that listed the folder itself
    return held
