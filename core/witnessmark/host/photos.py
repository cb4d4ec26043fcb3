"""Attached photos as a sheet can show them: their own bytes, as long as those are the ones that entered.

Files beside the journal flow in, `data:` addresses or the reasons why there is none flow out. Rules that hold here:
what is shown has the hash of the entry, checked over the very bytes that are shown; a sheet stays of a size that can be
sent; nothing but a picture is taken for one.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from hashlib import sha256

from witnessmark.journal.attachment import Attached
from witnessmark.report.kept import Photo

MOST_BYTES = 6_000_000
"""The largest photo that is shown: what telephones write, and a choice of this project."""
MOST_BYTES_TOGETHER = 24_000_000
"""The most that all photos of one sheet may weigh: more is not opened on a phone. A choice of this project."""
PICTURES = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png", b"GIF8": "image/gif"}
"""What the files of pictures begin with that every browser shows."""


def photos(attached: Iterable[Attached], *, why_not: str = "") -> dict[str, Photo]:
    """Return each attached file by its SHA-256, as far as it is a picture that is there as it entered.

    `why_not` is a reason to show none at all.
    """
    found: dict[str, Photo] = {}
    left = MOST_BYTES_TOGETHER
    for one in attached:
        digest = str(one.entry.body.get("sha256"))
        if digest not in found:
            found[digest] = Photo(why=why_not) if why_not else _photo(one, digest, left)
            left -= len(found[digest].address.partition(",")[2]) * 3 // 4
    return found


def _photo(one: Attached, digest: str, left: int) -> Photo:
    try:
        size = one.path.stat().st_size
        if size > min(MOST_BYTES, left):
            return Photo(why=f"{size / 1e6:.1f} MB is too much to show here: look at the shop's copy")
        data = one.path.read_bytes()
    except OSError as error:
        return Photo(why=f"the shop's copy cannot be read: {error.strerror}")
    if sha256(data).hexdigest() != digest:
        return Photo(why="the shop's copy is not what entered: its hash is another")
    kind = next((kind for start, kind in PICTURES.items() if data.startswith(start)), "")
    if not kind:
        return Photo(why="no picture that a browser shows")
    return Photo(f"data:{kind};base64,{b64encode(data).decode('ascii')}")
