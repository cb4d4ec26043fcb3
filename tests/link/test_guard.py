"""Whatever a plugin raises comes as a LinkError that names it, at a place where a LinkError is expected."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from witnessmark.clock import Clock, ManualClock, SystemClock
from witnessmark.errors import InputError, LinkError, LocalError, PeerError
from witnessmark.link import address as addresses
from witnessmark.link.frame import Frame
from witnessmark.link.guard import BROKEN, GIVE_UP_S, guarded
from witnessmark.link.port import FrameLink, MessageLink, TakesTurns
from witnessmark.testing.memory import MemoryFarEnd, MemoryLink
from witnessmark.testing.memory_messages import MemoryMessageLink, MemoryUnit

WHOSE = "plugin bay (bay-things 2.5) at bay:/dev/ttyX"


class Passing(ManualClock):
    """A manual clock whose time is real time."""

    def real_s(self, clock_s: float) -> float:
        return clock_s


@pytest.fixture
def far() -> Iterator[MemoryFarEnd]:
    far = MemoryFarEnd()
    yield far
    while LINKS:
        MemoryLink.close(LINKS.pop())
    far.close()


LINKS: list[MemoryLink] = []


def behind(far: MemoryFarEnd, clock: Clock | None = None, **methods: Any) -> Any:
    """Return a guarded link some methods of which are other ones."""
    link = MemoryLink(addresses.parse(far.address), SystemClock(), False)
    LINKS.append(link)
    for name, method in methods.items():
        setattr(link, name, method)
    return guarded(link, clock or SystemClock(), WHOSE)


def raising(error: BaseException) -> Callable[..., Any]:
    def method(*_: object) -> Any:
        raise error

    return method


FRAME = Frame(0x7E0, b"\x01", SystemClock().stamp())
USES: dict[str, Callable[[Any], object]] = {
    "receive": lambda link: link.receive(0.0),
    "send": lambda link: link.send(FRAME),
    "close": lambda link: link.close(),
}


@pytest.mark.parametrize("error", [KeyError("x"), SystemExit(3), RuntimeError("no"), PeerError("bad", reason="bad")])
@pytest.mark.parametrize("method", USES)
def test_what_is_not_of_the_port_names_plugin_distribution_address_and_place(
    far: MemoryFarEnd, method: str, error: BaseException
) -> None:
    link = behind(far, **{method: raising(error)})
    with pytest.raises(LinkError) as caught:
        USES[method](link)
    assert str(caught.value).startswith(f"{WHOSE} broke in {method}: {type(error).__name__}")
    assert caught.value.kind == BROKEN and caught.value.hint and caught.value.__cause__ is error
    assert caught.value.reached == ("nothing" if method == "close" else "maybe")


@pytest.mark.parametrize(
    ("method", "error"),
    [
        ("receive", LinkError("unplugged", kind="gone", hint="plug it in")),
        ("send", LinkError("stuck", kind="stuck", hint="wait")),
        ("send", LocalError("too long", hint="shorten")),
        ("send", InputError("too long", place="here", hint="shorten")),
    ],
)
def test_an_error_that_the_port_allows_passes_as_it_is(far: MemoryFarEnd, method: str, error: Exception) -> None:
    with pytest.raises(type(error)) as caught:
        USES[method](behind(far, **{method: raising(error)}))
    assert caught.value is error


@pytest.mark.parametrize("came", [None, [None], ["7E8"], 7])
def test_an_answer_that_is_not_what_the_port_promises_is_a_break(far: MemoryFarEnd, came: object) -> None:
    link = behind(far, receive=lambda wait_s: came, send=lambda frame: came)
    with pytest.raises(LinkError, match="broke in receive: TypeError"):
        link.receive(0.0)
    with pytest.raises(LinkError, match="broke in send: TypeError"):
        link.send(FRAME)


@pytest.mark.parametrize(
    ("method", "use", "instead"),
    [
        ("fileno", lambda link: link.fileno(), None),
        ("interrupt", lambda link: link.interrupt(), None),
        ("free", lambda link: link.free(), True),
    ],
)
def test_where_nothing_may_be_raised_the_next_receive_tells_it(
    far: MemoryFarEnd, method: str, use: Callable[[Any], object], instead: object
) -> None:
    link = behind(far, **{method: raising(KeyError("x"))})
    assert use(link) == instead
    with pytest.raises(LinkError, match=f"broke in {method}: KeyError"):
        link.receive(0.0)
    assert list(link.receive(0.0)) == [], "told once; the link itself works"


@pytest.mark.parametrize("number", [-1, 4096, "port"])
def test_a_descriptor_that_cannot_be_waited_on_is_polled_instead(far: MemoryFarEnd, number: object) -> None:
    link = behind(far, fileno=lambda: number)
    assert link.fileno() is None
    with pytest.raises(LinkError, match="broke in fileno"):
        link.receive(0.0)


def test_a_link_that_only_breaks_is_gone_after_a_while_and_one_that_works_again_is_not(far: MemoryFarEnd) -> None:
    clock = Passing()
    faults: list[BaseException | None] = [KeyError("1"), KeyError("2"), None, KeyError("3"), KeyError("4")]

    def receive(wait_s: float) -> list[Frame]:
        clock.advance(GIVE_UP_S * 0.9)
        if fault := faults.pop(0):
            raise fault
        return []

    link = behind(far, clock, receive=receive)
    kinds = []
    while faults:
        try:
            link.receive(0.0)
        except LinkError as error:
            kinds.append(error.kind)
    assert kinds == [BROKEN] * 4
    faults += [KeyError("5")]
    with pytest.raises(LinkError) as caught:
        link.receive(0.0)
    assert caught.value.kind == "gone"


def test_a_guard_has_the_port_of_what_it_guards(far: MemoryFarEnd) -> None:
    frames = behind(far)
    assert isinstance(frames, FrameLink) and not isinstance(frames, MessageLink)
    assert isinstance(frames, TakesTurns) and frames.free()
    far.say([FRAME])
    assert [one.can_id for one in frames.receive(1.0) if isinstance(one, Frame)] == [FRAME.can_id]
    assert frames.send(FRAME).mono_ns and far.heard(1, 5.0)
    unit = MemoryUnit()
    messages = guarded(MemoryMessageLink(addresses.parse(unit.address), SystemClock(), False), SystemClock(), WHOSE)
    assert isinstance(messages, MessageLink) and messages.capabilities.max_payload == 255
    assert list(messages.wake(unit.peer)) == []
    messages.send(unit.peer, b"\x3e\x00")
    assert unit.requests(1, 5.0) == [b"\x3e\x00"]
    messages.close()
    unit.close()
