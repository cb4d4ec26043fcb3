"""Commitments: what stands in an entry in the place of personal data, and which fields those are.

The body that a writer supplies flows in; the body as it is written and the values to be kept beside it flow out. Rules
that hold here: plate, customer, and whatever a person put in their own words is personal data, whatever it says; what
was chosen from a list, measured, or read off a thing is not; a commitment is SHA-256 over a domain, a 32-byte salt and
the canonical value, so that it cannot be guessed once the salt is gone.
"""

from __future__ import annotations

import re
import secrets
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

from witnessmark.journal import canonical
from witnessmark.journal.entry import Draft

DOMAIN = b"witnessmark personal 1\x00"
"""What every commitment begins with, so that it cannot be taken for another hash."""

PREFIX = "personal:"
"""How a commitment stands in an entry's body: `personal:<64 hex digits>`, wherever a text may stand."""

PERSONAL: dict[str, tuple[str, ...]] = {
    "job-opened": ("complaint", "customer", "vehicle.registration"),
    "moved": ("customer", "registration"),
    "step": ("said", "mended"),
    "inspection": ("said",),
    "first-use": ("said",),
    "state": ("why",),
    "amendment": ("reason",),
    "attachment": ("name", "shows"),
    "note": ("said",),
}
"""The fields of each kind's body that are kept beside it. An amendment keeps those of the entry it corrects too."""

_PATHS = {kind: tuple(tuple(path.split(".")) for path in fields) for kind, fields in PERSONAL.items()}

MARK = re.compile(f"{PREFIX}[0-9a-f]{{64}}")


@dataclass(frozen=True, slots=True)
class Kept:
    """A value that was committed to: of which job, under what name (`registration`, `said`), and the salt, in hex."""

    commitment: str
    job: str
    field: str
    salt: str
    value: Any


def commitment(salt: bytes, value: Any, place: str = "value") -> str:
    """Return the text that stands in an entry for `value`. Raises InputError for one outside the canonical domain."""
    return PREFIX + sha256(DOMAIN + salt + canonical.encode(value, place=place)).hexdigest()


def holds(kept: Kept) -> bool:
    """Tell whether the value that is kept is the one that was committed to."""
    return commitment(bytes.fromhex(kept.salt), kept.value) == kept.commitment


def set_apart(
    kind: str, body: dict[str, Any], job: str | None, corrects: str = ""
) -> tuple[dict[str, Any], list[Kept]]:
    """Return `body` of an entry of `kind` with commitments for its personal data, and the values to keep.

    `corrects` is the kind of the entry that an amendment corrects. A field that is empty, or a commitment already, is
    left as it is; so is an entry of no `job`, which is about no customer.
    """
    if job is None:
        return body, []
    paths = _PATHS.get(kind, ())
    if corrects:
        paths += tuple(("instead", *path) for path in _PATHS.get(corrects, ()))
    kept: list[Kept] = []

    def keep(field: str, value: Any) -> Any:
        if value in ("", None) or (isinstance(value, str) and MARK.fullmatch(value)):
            return value
        salt = secrets.token_hex(32)
        mark = commitment(bytes.fromhex(salt), value, field)
        kept.append(Kept(mark, job, field, salt, value))
        return mark

    for path in paths:
        body = _replaced(body, path, keep)
    return body, kept


def set_apart_all(drafts: Sequence[Draft]) -> tuple[Sequence[Draft], list[Kept]]:
    """Return `drafts` with commitments for their personal data, and the values to keep, as `set_apart`."""
    parts = [set_apart(draft.kind, draft.body, draft.job, draft.corrects) for draft in drafts]
    kept = [value for _, values in parts for value in values]
    if not kept:
        return drafts, kept
    return [replace(draft, body=body) for draft, (body, _) in zip(drafts, parts, strict=True)], kept


def _replaced(body: dict[str, Any], path: Sequence[str], keep: Callable[[str, Any], Any]) -> dict[str, Any]:
    first, *rest = path
    if first not in body:
        return body
    if not rest:
        return {**body, first: keep(first, body[first])}
    inside = body[first]
    return {**body, first: _replaced(inside, rest, keep)} if isinstance(inside, dict) else body


def plain_form(value: Any) -> str:
    """Return the form that values are found by: without accents, spaces, dashes and case."""
    text = unicodedata.normalize("NFKD", str(value)).casefold()
    return "".join(sign for sign in text if sign.isalnum())
