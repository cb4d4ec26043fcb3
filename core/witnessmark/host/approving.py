"""Approving: a lead allows a map's wire commands for one control unit; an entry of no job.

A map, a person and what the control unit says flow in, an entry flows out. Rules that hold here: only what the map
describes and never-sent rules leave open can be approved; a procedure binds the approval to the wire commands its
passes need; where the control unit is at hand its identification is read first, and another one is refused; a map of
a real vehicle, and any map at a real link, is approved only with a PIN.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from witnessmark.errors import InputError, LocalError
from witnessmark.host.acting import Acting
from witnessmark.host.speaking import clock_of
from witnessmark.job.allowed import approval, fitting
from witnessmark.job.allowed.length import require_fit
from witnessmark.journal.entry import Draft
from witnessmark.link.frame import Peer
from witnessmark.mapping import words
from witnessmark.mapping.model import ProtocolMap
from witnessmark.procedure import load as procedures
from witnessmark.procedure.model import Procedure
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.timing import Timing


def prepare(
    acting: Acting,
    map_: ProtocolMap,
    *,
    procedure: Procedure | None = None,
    wire_commands: tuple[str, ...] = (),
    software: Iterable[str] = (),
    why: str = "",
) -> Draft:
    """Return the approval of `wire_commands`, to be written: those the procedure's passes need, or all, if none named.

    `software` is what the unit says since an update, where that is not what the map says: `F195=03.21.0`, or in hex
    behind 0x. What was learned was learned on the map's software, and is approved for no other.

    Raises LocalError for anybody but a lead, for what is never sent, and without a PIN unless the map is practice data,
    InputError for a wire command the map does not have or does not describe, one with a precondition that nobody asks,
    or a pass whose run would be too long to be sent.
    """
    wanted = wire_commands or (needed(procedure) if procedure is not None else ())
    if procedure is not None and not wanted:
        raise InputError("no pass of this procedure needs a wire command", place="procedure", hint="nothing to approve")
    wanted = wanted or tuple(one.id for one in map_.wire_commands)
    if not wanted:
        raise InputError("the map has no wire command", place="map", hint="learn one by listening, and name it")
    fitting.require_sendable(map_, wanted, hint="no role can approve it; approve others alone with --command")
    fitting.require_described(map_, wanted)
    fitting.require_asked(map_, wanted, procedure)
    if procedure is not None:
        require_fit(procedure, (one for one in procedure.passes if one.wire_command in wanted), map_)
    draft = approval.approve(acting.person, map_, wanted, why)
    more: dict[str, Any] = {"proven": acting.proven}
    if updated := _updated(map_, wanted, software):
        more["identification"] = draft.body["identification"] | updated
    if procedure is not None:
        more["procedure_digest"] = procedures.digest(procedure)
    _check_proven(acting, map_)
    return replace(draft, body={**draft.body, **more})


def _updated(map_: ProtocolMap, wanted: Iterable[str], software: Iterable[str]) -> dict[str, str]:
    """Return the software values, by identifier, that hold in the place of the map's."""
    bound = {one.identifier: one.value for one in map_.identification if one.identifier in approval.SOFTWARE}
    found = {}
    for said in software:
        identifier, _, number = said.partition("=")
        value = number[2:].upper() if number.startswith("0x") else number.encode("ascii", "replace").hex().upper()
        if identifier not in bound or not re.fullmatch("(?:[0-9A-F]{2})+", value) or not number.isascii():
            known = ", ".join(f"{name}={words.value(told)}" for name, told in bound.items())
            raise InputError(
                f"{said!r} is no software number of this map", place="software", hint=f"the map says: {known or 'none'}"
            )
        found[identifier] = value
    learned = [one.id for one in map_.wire_commands if one.id in wanted and one.origin == "learned"]
    if found and learned:
        raise LocalError(f"{learned[0]} was learned on other software", hint="listen to it and name it anew")
    return found


def _check_proven(acting: Acting, map_: ProtocolMap) -> None:
    if acting.proven != "pin" and not map_.invented:
        raise LocalError(
            f"{acting.person.id} has no PIN here, so anybody could approve in that name, and this is no practice data",
            hint=f"set one first: `witnessmark person add {acting.person.id} --role lead`",
        )


def check_link(acting: Acting, link_address: str) -> None:
    """Raise LocalError for a lead without a PIN at a link that is no practice vehicle's, whatever the map says."""
    if acting.proven != "pin" and not clock_of(link_address).practice:
        raise LocalError(
            f"{acting.person.id} has no PIN here, and {link_address} is no practice vehicle",
            hint=f"set one first: `witnessmark person add {acting.person.id} --role lead`",
        )


def needed(procedure: Procedure) -> tuple[str, ...]:
    """Return the wire commands that the passes of a procedure need, each once, in order."""
    return tuple(dict.fromkeys(one.wire_command for one in procedure.passes if one.wire_command))


def check_unit(talk: Conversation, map_: ProtocolMap, wanted: Mapping[str, str]) -> None:
    """Read the identification that is `wanted`. Raises LocalError when the unit is another one or says nothing."""
    address, times = map_.address, map_.timing
    if address.extension or address.request_extension:
        raise LocalError(
            "the frames of this unit carry an address byte, and none are sent with one", hint="approve without --link"
        )
    peer = Peer(int(address.request, 16), int(address.answer, 16), extended=address.bits == 29)
    timing = Timing(times.p2_ms / 1000, times.p2_star_ms / 1000, times.s3_ms / 1000)
    for identifier, allowed in wanted.items():
        exchange = talk.ask(peer, b"\x22" + bytes.fromhex(identifier), timing, budget_s=times.p2_star_ms / 1000)
        if talk.failure is not None:
            raise talk.failure
        answer = exchange.answer
        if exchange.result == "silence" or answer is None:
            raise LocalError(
                "the control unit does not answer, so nothing was approved",
                hint="wake the vehicle, or approve without --link",
            )
        value = answer.payload[3:].hex().upper() if exchange.result == "positive" else ""
        if value != allowed.upper():
            raise LocalError(
                f"identifier {identifier} is {words.spelled(value) or 'refused'}, meant is "
                f"{words.spelled(allowed)}: another unit or other software",
                hint="probe this control unit, and approve the map made from it",
            )
