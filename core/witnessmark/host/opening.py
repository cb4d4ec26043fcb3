"""Opening a job: its documents and plan become the job's first entry.

Flows in: a procedure, a map, a link's address, a vehicle and a scope. Flows out: the job's id. Rules that hold here:
the documents stand whole in the entry; a pass whose wire command the map does not have, or whose run would be too long
to be sent, is refused before any work; plate, customer and complaint are kept beside the entries, so that they can be
erased (`journal.commitment`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from witnessmark.clock import NS
from witnessmark.document.mistake import refuse
from witnessmark.errors import InputError
from witnessmark.job.allowed.agreeing import disagreements
from witnessmark.job.allowed.fitting import require_asked, require_sendable
from witnessmark.job.allowed.length import require_fit
from witnessmark.journal.bodies import Grade, JobOpened, to_body
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal
from witnessmark.link import address as addresses
from witnessmark.mapping import load as maps
from witnessmark.mapping.model import ProtocolMap
from witnessmark.people.person import Person
from witnessmark.procedure import load as procedures
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.plan import parse_scope, plan

INSTEAD = "; or open it with --grade told: another tester runs them"


def open_job(
    journal: Journal,
    procedure: Procedure,
    map_: ProtocolMap | None,
    *,
    by: Person,
    link: str = "",
    vehicle: Mapping[str, str],
    scope: str = "full",
    grade: Grade = "sent",
    complaint: str = "",
    plate: str = "",
    customer: str = "",
    instruments: Mapping[str, str] | None = None,
    earlier: Sequence[str] = (),
    now_ns: int,
) -> str:
    """Record that a job is opened and return its id, the date (UTC) and a running number.

    Raises InputError for a scope, address, wire command, precondition or length of a run that does not fit, LocalError
    for a wire command that is never sent, JournalError when it is not recorded.
    """
    passes = plan(procedure, parse_scope(scope))
    if link:
        addresses.parse(link)
    if grade != "told":
        _check_wire_commands(procedure, map_, {one.wire_command for one in passes if one.wire_command})
    if grade == "sent":
        if map_ is not None:
            wanted = {one.wire_command for one in passes if one.wire_command}
            require_sendable(map_, wanted, hint=f"no role can send it: give another map{INSTEAD}")
            require_asked(map_, wanted, procedure)
            if wanted:
                refuse(procedure.id, disagreements(procedure, map_), lambda _path: 0)
        require_fit(procedure, passes, map_, besides=INSTEAD)
    job = _next_id(journal, now_ns)
    registration = " ".join(plate.split()).upper()
    body = JobOpened(
        title=procedure.title,
        vehicle=dict(vehicle) | ({"registration": registration} if registration else {}),
        procedure=procedures.to_document(procedure),
        procedure_digest=procedures.digest(procedure),
        map=None if map_ is None else maps.to_document(map_),
        map_digest="" if map_ is None else maps.digest(map_),
        plan=tuple(one.id for one in passes),
        scope=scope,
        grade=grade,
        link=link,
        complaint=" ".join(complaint.split()),
        customer=" ".join(customer.split()),
        invented=procedure.invented,
        instruments=dict(instruments or {}),
        earlier=tuple(earlier),
    )
    journal.append(Draft("job-opened", job, by.actor, body=to_body(body)))
    return job


def _check_wire_commands(procedure: Procedure, map_: ProtocolMap | None, wanted: set[str]) -> None:
    known = {one.id for one in map_.wire_commands} if map_ is not None else set()
    missing = sorted(wanted - known)
    if missing:
        where = "there is no map" if map_ is None else f"the map {map_.id} does not have it"
        raise InputError(
            f"procedure {procedure.id} needs wire command {missing[0]!r}, and {where}",
            place="map",
            hint="give a map with that wire command, or open the job with --grade told",
        )


def _next_id(journal: Journal, now_ns: int) -> str:
    day = datetime.fromtimestamp(now_ns // NS, tz=UTC).strftime("%y%m%d")
    taken = {line.job for line in journal.jobs()}
    number = 1
    while f"{day}-{number}" in taken:
        number += 1
    return f"{day}-{number}"
