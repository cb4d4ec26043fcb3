"""A recording played back as a link: its frames as they came, or its answers to the requests it holds.

FILE is anything that `witnessmark.recording` reads. `as=frames` (the default) plays CAN frames and never sends;
`as=messages` answers a request as it was answered when it was recorded, and says so when it never was.
`timing=recorded` (the default) keeps the gaps between frames, `timing=fast` leaves them out.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.plugin import Address, Clock, FrameLink, InputError, LocalError, MessageLink, hookimpl

ADDRESS = "replay:FILE?as=frames&timing=recorded"
API_VERSION = 1
CONTRACT_VERSION = 2


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:
    """Read the recording and return the link. A recording cannot be disturbed, so listening only is always kept."""
    from witnessmark.recording.file import open_recording
    from witnessmark_replay.frame_link import ReplayFrames
    from witnessmark_replay.message_link import ReplayMessages

    address.check_options("as", "timing")
    if not address.place:
        raise InputError("no file", place=f"address {address}", hint=f"write {ADDRESS}")
    port = _one_of(address, "as", "frames", "messages")
    fast = _one_of(address, "timing", "recorded", "fast") == "fast"
    recording = open_recording(address.place)
    if port == "frames":
        if not recording.has_can:
            raise InputError(
                "it holds no CAN frames", place=f"recording {address.place}", hint="open it with as=messages"
            )
        return ReplayFrames(recording, clock, fast)
    if listen_only:
        raise LocalError("played as messages it only answers, there is nothing to hear", hint="open it with as=frames")
    return ReplayMessages(recording, clock, fast)


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Return nothing: a recording is not plugged in."""
    return []


def _one_of(address: Address, name: str, first: str, second: str) -> str:
    value = address.option(name, first)
    if value not in (first, second):
        raise InputError(
            f"{name}={value} is neither {first} nor {second}", place=f"address {address}", hint=f"write {name}={first}"
        )
    return value
