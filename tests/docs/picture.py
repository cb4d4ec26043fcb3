"""The README's picture of an audited job, and the words that it shows: `make docs` draws it anew when they change.

A recorded job flows in, a PNG flows out that holds the SHA-256 of the words it was made from (a `tEXt` chunk, PNG
specification 11.3.4.3), so that a test needs no browser to tell whether it still shows what a sheet says.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from hashlib import sha256
from pathlib import Path
from struct import pack, unpack
from zlib import crc32

from tests.report.test_sheet import Page
from tests.rules.source import ROOT
from witnessmark.host.dossier import Dossier
from witnessmark.report.facts import facts
from witnessmark.report.sheet import sheet

PICTURE = ROOT / "docs" / "sheet.png"
JOB = ROOT / "recordings_demo" / "eight-passes-clean" / "evidence.json"
KEYWORD = b"words"
PAGES = (1, 3)
"""Page one, and the page that the timeline is on."""
TOOLS = ("chromium", "pdftoppm", "convert")


def html() -> str:
    """Return the sheet that the picture shows, as `witnessmark sheet` makes it of the file."""
    found = Dossier(JOB.parent.name, (JOB.read_bytes(),))
    return sheet(facts(found.audited().audit, beside=found.beside))


def words(page: str) -> str:
    """Return the SHA-256 (hex) of what a sheet says above its findings and in its timeline."""
    text = Page(page).text
    front, lead = text.partition("What the record shows")[0], text.partition(" Timeline ")[2]
    shown = front + lead.partition(" Findings ")[0]
    return sha256(shown.encode()).hexdigest()


def kept(picture: bytes) -> str:
    """Return the words' SHA-256 that a picture holds, empty when it holds none."""
    for kind, data in _chunks(picture):
        if kind == b"tEXt" and data.startswith(KEYWORD + b"\0"):
            return data.partition(b"\0")[2].decode("ascii")
    return ""


def keep(picture: bytes, digest: str) -> bytes:
    """Return the picture with this SHA-256 in it, and no other text."""
    chunks = [one for one in _chunks(picture) if one[0] not in (b"tEXt", b"zTXt", b"iTXt", b"tIME")]
    chunks.insert(1, (b"tEXt", KEYWORD + b"\0" + digest.encode("ascii")))
    packed = (pack(">I", len(data)) + kind + data + pack(">I", crc32(kind + data)) for kind, data in chunks)
    return picture[:8] + b"".join(packed)


def _chunks(picture: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], 8
    while at < len(picture):
        (size,) = unpack(">I", picture[at : at + 4])
        found.append((picture[at + 4 : at + 8], picture[at + 8 : at + 8 + size]))
        at += size + 12
    return found


def draw(page: str) -> bytes:
    """Return the picture of a sheet, as it prints on A4."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sheet.html").write_text(page.replace("@page { margin", "@page { size: A4; margin"), encoding="utf-8")
        pdf, address = folder / "sheet.pdf", (folder / "sheet.html").as_uri()
        browser = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
        _run(*browser, f"--print-to-pdf={pdf}", address)
        for number in PAGES:
            only = ["-f", str(number), "-l", str(number), "-singlefile", "-r", "92", "-png"]
            _run("pdftoppm", *only, str(pdf), str(folder / f"page{number}"))
        sides = [str(folder / f"page{number}.png") for number in PAGES]
        look = ["+append", "-bordercolor", "#b9c2ca", "-border", "1", "-colors", "128"]
        _run("convert", *sides, *look, str(folder / "both.png"))
        return (folder / "both.png").read_bytes()


def _run(*command: str) -> None:
    subprocess.run(command, check=True, capture_output=True, timeout=120)


def main() -> None:
    """Draw the picture anew where the words of the sheet are no longer those it was made from."""
    page = html()
    if kept(PICTURE.read_bytes()) == words(page):
        return
    missing = [one for one in TOOLS if shutil.which(one) is None]
    if missing:
        sys.exit(f"{PICTURE.name} shows an earlier sheet; to draw it anew, install: {', '.join(missing)}")
    PICTURE.write_bytes(keep(draw(page), words(page)))
    print(f"{PICTURE.relative_to(ROOT)} is drawn anew: look at it")


if __name__ == "__main__":
    main()
