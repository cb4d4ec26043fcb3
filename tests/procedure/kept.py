"""A procedure as a journal keeps it: it can be read, and need not be one that anybody would work by today."""

from __future__ import annotations

import tomllib

from witnessmark.procedure.load import from_document
from witnessmark.procedure.model import Procedure


def kept(text: str) -> Procedure:
    """Return the procedure of TOML text as one that a job was opened with."""
    return from_document(tomllib.loads(text))
