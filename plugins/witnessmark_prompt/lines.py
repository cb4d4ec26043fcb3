"""Characters in, whole lines and prompts out: sans-IO.

Rules that hold here: the result does not depend on how the characters were cut into chunks; a prompt counts where it
starts a line; a line with the prompt in its middle is two things that ran together; a line longer than allowed comes
out in pieces, so that garbage never piles up; nothing is dropped but empty lines.
"""

from __future__ import annotations


class LineReader:
    """Cuts characters into lines. A prompt comes out as None, a line as its bytes without its end."""

    def __init__(self, prompt: str, line_end: str, longest: int) -> None:
        self._prompt = prompt.encode("utf-8")
        self._end = line_end.encode("ascii")
        self._longest = longest
        self._rest = bytearray()

    def feed(self, characters: bytes) -> list[bytes | None]:
        """Take characters; return the lines and prompts that are whole now, in order."""
        self._rest += characters
        whole: list[bytes | None] = []
        while True:
            self._skip_line_ends()
            if self._rest.startswith(self._prompt):
                del self._rest[: len(self._prompt)]
                whole.append(None)
                continue
            end = self._rest.find(self._end)
            if len(self._rest) > self._longest and not 0 <= end <= self._longest:
                whole.append(bytes(self._rest[: self._longest]))
                del self._rest[: self._longest]
                continue
            if end < 0:
                return whole
            line = bytes(self._rest[:end])
            middle = line.find(self._prompt)
            if middle > 0:
                whole.append(line[:middle])
                del self._rest[:middle]
                continue
            del self._rest[: end + len(self._end)]
            line = line.strip(b"\r\n")
            if line:
                whole.append(line)

    def _skip_line_ends(self) -> None:
        while self._rest and self._rest[0] in b"\r\n":
            del self._rest[0]

    @property
    def rest(self) -> bytes:
        """What is not a whole line yet."""
        return bytes(self._rest)
