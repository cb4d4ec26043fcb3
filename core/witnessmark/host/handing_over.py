"""A job leaves this bay: the entry that says so, and the evidence file that the other bay takes.

A shop and a job flow in, the file's bytes flow out. Rules that hold here: what could make it fail is looked at before
anything is written; nobody works on the job while it leaves; one that has ended stays where it is; where something
stands open on the vehicle it goes only as whoever moves it says that it stands so.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.errors import LocalError
from witnessmark.host.folded import folded
from witnessmark.host.shop import Shop
from witnessmark.job.walk.standing import as_left, standing
from witnessmark.journal import going_on, keys, moving, sealing
from witnessmark.journal.entry import Entry
from witnessmark.people.person import Person


@dataclass(frozen=True, slots=True)
class HandedOver:
    """The entry, the evidence file that ends with it, whether nobody knows how a run of the job ended, and what is told
    of it wherever it is left: what stands open, what is to be bled."""

    entry: Entry
    evidence: bytes
    unended: bool
    left: tuple[str, ...] = ()


def hand_over(
    shop: Shop, job: str, to: str, by: Person, passphrase: str | None, *, as_it_stands: bool = False
) -> HandedOver:
    """Write that `job` goes to the bay `to`, and return its evidence, sealed where there is a `passphrase`.

    Raises InputError for no such job, name or passphrase, LocalError for a job that has ended, or of which something
    stands open and it does not go `as_it_stands`, JournalError when it went already, while a runner has it, or when a
    journal to be sealed is not sound. Nothing is written then.
    """
    with shop.quiet("job move") as journal:
        journal.job_texts(job)
        state = folded(journal, job)
        if state.status in ("abandoned", "released"):
            raise LocalError(f"the job is {state.status} already", hint="its evidence file is enough to look at it")
        if standing(state) and not as_it_stands and moving.handed_over(journal, job) is None:
            hint = f"put that right first (witnessmark job run {job}); where {to} is told of it and takes it so: "
            raise LocalError("\n".join(("this stands open:", *standing(state))), hint=f"{hint}--as-it-stands")
        if passphrase is not None:
            keys.load(journal, passphrase)
            sealing.check_sound(journal)
        entry = moving.hand_over(journal, job, to, by.actor)
    unended = bool(state.unended) or state.inspect is not None
    return HandedOver(entry, shop.evidence(job, passphrase), unended, as_left(state))


def take_back(shop: Shop, job: str, by: Person) -> Entry:
    """Write that `job` did not go to another bay after all. Raises JournalError when it is here, or came back."""
    with shop.quiet("job move") as journal:
        going_on.check_away(journal, job)
        return moving.hand_over(journal, job, None, by.actor)
