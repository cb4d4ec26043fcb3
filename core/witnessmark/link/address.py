"""The address of a link: text in, `Address` out, and the same text back.

Form: `scheme:place?key=value&key=value`. The scheme is the entry-point name of an adapter; what the place and the
options mean is the adapter's. Only `%`, `?`, `&`, `=`, `+` and blanks inside an option are written percent-encoded
(RFC 3986, 2.1).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import quote, unquote

from witnessmark.errors import InputError

_SCHEME = re.compile(r"[a-z][a-z0-9-]*\Z")


@dataclass(frozen=True, slots=True)
class Address:
    """Where a link is. `str(parse(text)) == text` for every text that `str` gives."""

    scheme: str
    place: str = ""
    options: Mapping[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        query = "&".join(f"{_escape(key)}={_escape(value)}" for key, value in self.options.items())
        return f"{self.scheme}:{self.place}" + (f"?{query}" if query else "")

    def option(self, name: str, default: str | None = None) -> str:
        """Return an option. Raises InputError when it is missing and has no default."""
        value = self.options.get(name, default)
        if value is None:
            raise InputError(
                f"option {name!r} is missing", place=f"address {self}", hint=f"add {name}=... after a question mark"
            )
        return value

    def check_options(self, *known: str) -> None:
        """Raise InputError for an option that is not among `known`."""
        for name in self.options:
            if name not in known:
                hint = f"known options: {', '.join(known)}" if known else "this adapter takes no options"
                raise InputError(f"option {name!r} is not known", place=f"address {self}", hint=hint)


def parse(text: str) -> Address:
    """Read an address. Raises InputError that says what was expected."""
    scheme, colon, rest = text.partition(":")
    if not colon or not _SCHEME.match(scheme):
        raise InputError(
            "no scheme at the start", place=f"address {text!r}", hint="write scheme:place, see `witnessmark adapters`"
        )
    place, _, query = rest.partition("?")
    options: dict[str, str] = {}
    for pair in query.split("&") if query else ():
        key, equals, value = pair.partition("=")
        key = unquote(key)
        if not key or not equals:
            raise InputError(f"{pair!r} is not key=value", place=f"address {text!r}", hint="write ?key=value&key=value")
        if key in options:
            raise InputError(f"option {key!r} stands twice", place=f"address {text!r}", hint="keep one of them")
        options[key] = unquote(value)
    return Address(scheme, place, options)


def _escape(text: str) -> str:
    return quote(text, safe="/:.,@~-_")
