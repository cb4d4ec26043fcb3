"""Text from a file that somebody else wrote, before it goes to a terminal.

Text flows in and out. Rule that holds here: what would move the cursor, colour, hide or turn round what is printed (the
control and format characters of Unicode) is shown as its code, so that no record can write its own verdict.
"""

from __future__ import annotations


def plain(text: str) -> str:
    """Return `text` with every sign that does not print, but the line end, as `\\x1b` or `\\u202e`."""
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() or one == "\n" else ascii(one)[1:-1] for one in text)
