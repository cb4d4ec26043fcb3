"""The QR code of a sheet: the signed checkpoint to the letter, drawn as SVG that stands in the page itself.

A text flows in, SVG flows out. Rule that holds here: nothing but the text is in it (ISO/IEC 18004, byte mode, UTF-8,
error correction M), so that whoever reads it has what `witnessmark verify --anchor` takes.
"""

from __future__ import annotations

from markupsafe import Markup

QUIET = 4
"""Light modules around the code (ISO/IEC 18004, from memory)."""


def qr(text: str) -> Markup:
    """Return the SVG element of the QR code that says `text`."""
    import segno

    code = segno.make_qr(text, error="m", encoding="utf-8", boost_error=False)
    return Markup(code.svg_inline(border=QUIET, omitsize=True, svgclass="qr", lineclass="qr-ink", light="#fff"))
