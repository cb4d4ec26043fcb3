"""Letters five cells high, for what is read from the wheel: the countdown to a cue and the cue itself."""

from __future__ import annotations

HIGH = 5
_ROWS: dict[str, tuple[str, ...]] = {
    "3": ("#####", "    #", " ####", "    #", "#####"),
    "2": ("#####", "    #", "#####", "#    ", "#####"),
    "1": ("  #  ", " ##  ", "  #  ", "  #  ", "#####"),
    "O": ("#####", "#   #", "#   #", "#   #", "#####"),
    "P": ("#####", "#   #", "#####", "#    ", "#    "),
    "E": ("#####", "#    ", "#### ", "#    ", "#####"),
    "N": ("#   #", "##  #", "# # #", "#  ##", "#   #"),
}


def large(word: str) -> list[str]:
    """Return `word` as rows of cells; a letter that is not drawn here stands as it is, in the middle row."""
    empty = [" ", " ", "{}", " ", " "]
    letters = [_ROWS.get(letter) or tuple(row.format(letter) for row in empty) for letter in word]
    return ["  ".join(letter[row] for letter in letters).rstrip() for row in range(HIGH)]
