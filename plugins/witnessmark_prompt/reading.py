"""What a line of the interface means, by its profile.

A line flows in, one `Seen` flows out. Rules that hold here: error words come first, so that no data line hides one; a
length or check sum that does not fit makes the line garbled, never data; nothing is repaired.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from witnessmark.errors import InputError
from witnessmark_prompt.checksum import checksum
from witnessmark_prompt.pattern import Pattern, parse_pattern
from witnessmark_prompt.profile import Means, Profile

WRITTEN = ("id", "data", "length", "sum")
READ = ("id", "data", "length", "sum", "time", "any")


@dataclass(frozen=True, slots=True)
class Data:
    """Something received. `can_id` is None where the interface does not say it; `time_ns` its own clock."""

    can_id: int | None
    extended: bool
    payload: bytes
    time_ns: int | None
    remote: bool = False


@dataclass(frozen=True, slots=True)
class Begun:
    """The first part of a long answer was seen."""

    can_id: int | None
    extended: bool


@dataclass(frozen=True, slots=True)
class Word:
    """A line with a meaning of its own."""

    means: Means | Literal["accepted", "unknown"]
    detail: str = ""


Seen = Data | Begun | Word


class Reading:
    """A profile made ready. Raises InputError naming the key of a pattern that is wrong."""

    def __init__(self, profile: Profile, place: str) -> None:
        self.profile = profile
        gap = profile.text.byte_gap

        def read(text: str, key: str, allowed: tuple[str, ...] = READ) -> Pattern:
            return parse_pattern(text, use="read", place=f"{place}, {key}", allowed=allowed, gap=gap)

        def write(text: str, key: str, needed: tuple[str, ...]) -> Pattern:
            pattern = parse_pattern(text, use="write", place=f"{place}, {key}", allowed=WRITTEN, gap=gap)
            _need(pattern, needed, f"{place}, {key}")
            return pattern

        addressed = ("id", "data") if profile.level == "frame" else ("data",)
        self._received = [read(line, f"receive.lines[{n}]") for n, line in enumerate(profile.receive.lines)]
        self._remote = [read(line, f"receive.remote[{n}]") for n, line in enumerate(profile.receive.remote)]
        for number, pattern in enumerate(self._remote):
            _need(pattern, ("id",), f"{place}, receive.remote[{number}]")
        for number, pattern in enumerate(self._received):
            _need(pattern, addressed, f"{place}, receive.lines[{number}]")
        lines = [read(one.line, f"meanings[{n}].line", ("any",)) for n, one in enumerate(profile.meanings)]
        self._meanings = [one.means for one in profile.meanings]
        # One expression for all of them: every line of data is held against it first.
        self._meaning = re.compile("|".join(f"({one.expression.pattern})" for one in lines) or "(?!)")
        self._accepted = read(profile.send.accepted, "send.accepted", ("any",)) if profile.send.accepted else None
        self._begun = read(profile.receive.begun, "receive.begun", ("id", "any")) if profile.receive.begun else None
        self._command = write(profile.send.command, "send.command", addressed)
        extended = profile.send.command_extended
        self._command_extended = write(extended, "send.command_extended", addressed) if extended else None
        self._check_sums(place)
        self.sends_extended = self._command_extended is not None
        self.has_time = any("time" in pattern.fields for pattern in self._received)
        self._time_ns = 1_000 if profile.receive.time_unit == "us" else 1_000_000

    def read(self, line: bytes) -> Seen:
        """Say what a line means; `unknown` when no pattern fits it."""
        try:
            text = line.decode("ascii").strip(" ")
        except UnicodeDecodeError:
            return Word("garbled", "characters that are not text")
        word = self._meaning.fullmatch(text)
        if word is not None and word.lastindex is not None:
            return Word(self._meanings[word.lastindex - 1], text)
        for pattern in self._received:
            if (fields := pattern.read(text)) is not None:
                return self._read_data(pattern, fields, text)
        for pattern in self._remote:
            if (fields := pattern.read(text)) is not None:
                return self._read_remote(pattern, fields, text)
        if self._begun is not None and (fields := self._begun.read(text)) is not None:
            can_id = int(fields["id"], 16) if "id" in fields else None
            return Begun(can_id, len(fields.get("id", "")) > 3)
        if self._accepted is not None and self._accepted.read(text) is not None:
            return Word("accepted", text)
        return Word("unknown", text)

    def write(self, can_id: int, extended: bool, payload: bytes) -> str:
        """Return the command that sends `payload`. The caller has checked that 29 bits can be sent."""
        pattern = self._command_extended if extended else self._command
        assert pattern is not None
        line = pattern.write({"id": can_id, "data": payload, "length": len(payload)})
        if self.profile.sum is None:
            return line
        return line.replace("{sum}", f"{self._sum(line, payload):0{self._sum_digits}X}")

    def _read_data(self, pattern: Pattern, fields: dict[str, str], text: str) -> Seen:
        try:
            payload = pattern.payload(fields["data"])
        except ValueError:
            return Word("garbled", "half a byte of data")
        if "length" in fields and pattern.number("length", fields["length"]) != len(payload):
            return Word("garbled", f"length {fields['length']} over {len(payload)} bytes")
        if "sum" in fields and int(fields["sum"], 16) != self._sum(text, payload):
            return Word("garbled", f"check sum {fields['sum']} does not fit")
        can_id = int(fields["id"], 16) if "id" in fields else None
        time_ns = int(fields["time"]) * self._time_ns if "time" in fields else None
        return Data(can_id, len(fields.get("id", "")) > 3, payload, time_ns)

    def _read_remote(self, pattern: Pattern, fields: dict[str, str], text: str) -> Seen:
        """Read a remote frame: a `length` in it is the one asked for, and it has no data."""
        if "sum" in fields and int(fields["sum"], 16) != self._sum(text, b""):
            return Word("garbled", f"check sum {fields['sum']} does not fit")
        time_ns = int(fields["time"]) * self._time_ns if "time" in fields else None
        return Data(pattern.number("id", fields["id"]), len(fields["id"]) > 3, b"", time_ns, remote=True)

    def _sum(self, line: str, payload: bytes) -> int:
        rule = self.profile.sum
        assert rule is not None
        if rule.over == "data":
            return checksum(rule.kind, payload)
        until = line.rfind(rule.until) if rule.until else line.rfind("{sum}")
        if until < 0:
            until = len(line) - self._sum_digits  # when read, the sum stands at the end
        return checksum(rule.kind, line[:until].encode("ascii"))

    @property
    def _sum_digits(self) -> int:
        rule = self.profile.sum
        return 4 if rule is not None and rule.kind == "crc16" else 2

    def _check_sums(self, place: str) -> None:
        patterns = [*self._received, self._command, *([self._command_extended] if self._command_extended else [])]
        used = any("sum" in pattern.fields for pattern in patterns)
        if used and self.profile.sum is None:
            raise InputError(
                "{sum} is used, but not how it is made", place=f"{place}, sum", hint='add [sum] kind = "..."'
            )


def _need(pattern: Pattern, needed: tuple[str, ...], place: str) -> None:
    for name in needed:
        if name not in pattern.fields:
            raise InputError(f"field {{{name}}} is missing", place=place, hint=f"say where {{{name}}} stands")
