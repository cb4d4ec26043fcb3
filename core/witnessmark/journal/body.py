"""What every body of an entry is: a frozen document whose fields that nobody knows are left out."""

from __future__ import annotations

import msgspec


class Body(msgspec.Struct, frozen=True, omit_defaults=True, gc=False):
    """A body of one kind of entry."""
