"""What a check of the entries alone does not see: files that are gone or changed, data that was to be erased.

A shop flows in, a line for each thing that is not as it should be flows out. Nothing is written.
"""

from __future__ import annotations

from witnessmark.host.shop import Shop
from witnessmark.journal import attachment, personal


def beside(shop: Shop) -> tuple[str, ...]:
    """Return what is wrong with the files and the personal data beside the journal."""
    with shop.read() as journal:
        files = [
            f"file of entry {one.entry.seq} is {one.state}: put {one.path.name} back"
            for one in attachment.attached(journal)
            if one.state != "there"
        ]
        erasures = list(journal.entries(kind="erasure"))
        left = [
            f"entry {one.seq} says that data of job {one.job} was erased, and it is still there: erase it again"
            for one in erasures
            if one.job and set(one.body.get("commitments", [])) & set(personal.values_of(journal, one.job))
        ]
        changed = [
            f"{one.field} kept beside job {one.job} is not what its entry committed to: restore it from the second copy"
            for one in personal.changed(journal)
        ]
    return (*files, *left, *changed)
