"""Any serial interface that takes text commands and ends its answer with a prompt, described by a TOML profile.

An address flows in, a `FrameLink` or a `MessageLink` flows out, as the profile's `level` says. PORT is a device path or
a URL of pyserial (`socket://host:port`); the profile is a path, or `package:file.toml` for one that an installed
package ships. Listen-only is refused unless the profile says how the interface is made to listen only.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.plugin import Address, Capabilities, Clock, FrameLink, InputError, LocalError, MessageLink, hookimpl

ADDRESS = "prompt:PORT?profile=FILE.toml"
API_VERSION = 1
CONTRACT_VERSION = 2


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:
    """Open the port, start the interface up, and return the link. Nothing stays open after a raise."""
    from witnessmark_prompt.loading import load_profile

    address.check_options("profile")
    if not address.place:
        raise InputError("no port", place=f"address {address}", hint=f"write {ADDRESS}")
    name = address.option("profile")
    return open_port(address.place, name, load_profile(name), clock, listen_only)


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Return the serial ports with their names; which profile fits is the user's to say."""
    from serial.tools import list_ports

    ports = sorted(list_ports.comports())
    words = "if it takes text commands: name its profile"
    return [(Address("prompt", one.device, {"profile": "FILE.toml"}), f"{one.description}, {words}") for one in ports]


def open_port(port_name: str, place: str, profile: object, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:
    """Open `port_name` with a `Profile`; `place` names the profile in errors. Raises as the hook does."""
    from witnessmark_prompt.conversation import Conversation
    from witnessmark_prompt.frame_link import PromptFrameLink
    from witnessmark_prompt.message_link import PromptMessageLink
    from witnessmark_prompt.port import Port
    from witnessmark_prompt.profile import Profile
    from witnessmark_prompt.reading import Reading
    from witnessmark_prompt.start_up import ask, make_asks

    assert isinstance(profile, Profile)
    reading = Reading(profile, place)
    listen_asks = make_asks(profile.listen_only, f"{place}, listen_only")
    start_asks = make_asks(profile.start, f"{place}, start")
    address_asks = make_asks(profile.address, f"{place}, address", ("request", "answer"))
    if listen_only and not listen_asks:
        raise LocalError(
            f"the profile {place} has no way to make the interface listen only",
            hint="use another interface to listen, or add listen_only commands from the interface's manual",
        )
    talk = Conversation(Port(port_name, profile.serial), profile, clock)
    try:
        for one in listen_asks if listen_only else start_asks:
            ask(talk, reading, one)
    except BaseException:
        talk.close()
        raise
    abilities = profile.abilities
    capabilities = Capabilities(
        listen=abilities.listen,
        can_send=not listen_only,
        half_duplex=False,
        device_clock=reading.has_time,
        functional=abilities.functional,
        shows_pending=abilities.shows_pending,
        max_payload=abilities.max_payload,
        min_gap_s=abilities.min_gap_ms / 1000,
        keepalive_s=None if abilities.keepalive_ms is None else abilities.keepalive_ms / 1000,
    )
    if profile.level == "frame":
        return PromptFrameLink(talk, reading, clock, capabilities)
    return PromptMessageLink(talk, reading, clock, capabilities, address_asks)
