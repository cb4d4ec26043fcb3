"""Read a procedure from its TOML file or from the copy kept in a journal; give its plain form and digest.

Rules that hold here: every mistake is named at once, with its line; reading the plain form gives the same procedure,
and asks no more of it than that it can be read, so that a job stays readable by whatever procedure it was worked; the
digest is SHA-256 over the canonical JSON of the plain form, so that comments and layout of the file do not count.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path as FilePath
from typing import Any

import msgspec

from witnessmark.document import lines
from witnessmark.document.mistake import Mistake, Path, refuse
from witnessmark.document.shape import fit
from witnessmark.document.toml import read_toml
from witnessmark.errors import InputError
from witnessmark.procedure.answerable import answerable
from witnessmark.procedure.check import check
from witnessmark.procedure.figures import figures
from witnessmark.procedure.handwork import handwork
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.own import taken
from witnessmark.procedure.safe import readings_of_safety
from witnessmark.procedure.thousands import thousands
from witnessmark.procedure.unfilled import FILL_IN, empty, unfilled
from witnessmark.procedure.whole import whole

FORMAT = "witnessmark-procedure/1"
OWN = ("nipples", "passes")
"""Without its format and without both of these a document is not meant to be a procedure."""
_ENCODER = msgspec.json.Encoder(order="sorted")


def load(path: FilePath) -> Procedure:
    """Read the procedure file at `path`. Raises InputError (Mistakes) naming file, line, key and what was expected."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(path), hint="give the path of a procedure file"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", place=str(path), hint="save it as UTF-8") from error
    return from_text(text, file=path.name)


def from_text(text: str, *, file: str = "procedure") -> Procedure:
    """Read a procedure from TOML text. Raises as `load` does; `file` is the name in messages."""
    document = read_toml(text, file)
    found = lines.lines(text)
    if document.get("format") != FORMAT and not any(key in document for key in OWN):
        hint = "give a procedure; `witnessmark procedure new FILE` begins one"
        raise InputError("this is no procedure", place=file, hint=hint)
    return _read(document, file, lambda path: lines.line_of(path, found), written=True)


def refuse_at(path: FilePath, mistakes: Sequence[Mistake]) -> None:
    """Raise InputError (Mistakes) for what else is wrong with the procedure file at `path`, with the line of each."""
    found = lines.lines(path.read_text(encoding="utf-8"))
    refuse(path.name, mistakes, lambda at: lines.line_of(at, found))


def from_document(document: dict[str, Any], *, place: str = "procedure") -> Procedure:
    """Read the plain form that `to_document` gave, as a journal keeps it. Raises InputError naming the key."""
    return _read(document, place, lambda _path: 0, written=False)


def to_document(procedure: Procedure) -> dict[str, Any]:
    """Return the plain form: text, true and false, lists and tables; what was not given is not in it."""
    plain = msgspec.to_builtins(procedure)
    assert isinstance(plain, dict)
    return plain


def digest(procedure: Procedure) -> str:
    """Return SHA-256, in hex, over the canonical JSON (RFC 8785) of the plain form."""
    return sha256(_ENCODER.encode(procedure)).hexdigest()


def _read(document: Any, file: str, line_of: Callable[[Path], int], *, written: bool) -> Procedure:
    """Read a document; one that somebody has `written` must make sense to a person of the trade as well."""
    procedure, shape = _shaped(document)
    spoilt = [path for mistake in shape for path in (mistake.path, mistake.meant) if path]
    left = list(unfilled(document)) if FILL_IN in str(document) else []
    left += [*empty(document), *thousands(document)] if written else ()
    spoilt += [one.path for one in left]
    content = check(procedure, written=written)
    if written:
        wrong = [one.path for one in content]
        sense = [
            *figures(procedure),
            *handwork(procedure),
            *taken(procedure),
            *readings_of_safety(procedure),
            *whole(procedure),
            *answerable(procedure),
        ]
        content += [one for one in sense if not any(_touches(one.path, path) for path in wrong)]
    content = [one for one in content if not any(_touches(one.path, path) for path in spoilt)]
    refuse(file, [*shape, *left, *content], line_of)
    return procedure


def _shaped(document: Any) -> tuple[Procedure, list[Mistake]]:
    """Return the procedure and every mistake of shape: none where it gives its plain form back as it was."""
    try:
        procedure = msgspec.convert(document, Procedure)
    except msgspec.ValidationError:
        procedure = None
    if procedure is not None and _ENCODER.encode(procedure) == _ENCODER.encode(document):
        return procedure, []
    fitted, shape = fit(document, Procedure)
    return msgspec.convert(fitted, Procedure), shape


def _touches(path: Path, spoilt: Path) -> bool:
    """Say whether a mistake at `path` may only be there because what stood at `spoilt` was taken out."""
    shorter = min(len(path), len(spoilt))
    return path[:shorter] == spoilt[:shorter]


__all__ = ["Mistake", "digest", "from_document", "from_text", "load", "refuse_at", "to_document"]
