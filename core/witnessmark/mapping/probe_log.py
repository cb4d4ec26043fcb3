"""The log of a probe: each request and what came of it, a line each; what it goes on from after a stop.

Lines flow out as they happen and in again when a probe goes on. Rules that hold here: a line is on disk before the next
request leaves; a log belongs to one plan, and another plan is refused; a last line that was cut off is left out; a
probe that went through says so in its last line.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, BinaryIO

import msgspec

from witnessmark.errors import InputError, LocalError
from witnessmark.mapping.facts import Strict
from witnessmark.mapping.model import HeaderForm
from witnessmark.mapping.read_request import FORMS
from witnessmark.mapping.seen import Answer, Seen
from witnessmark.recording.line import Line, Width
from witnessmark.wire.obd.messages import as_on_can

FORMAT = "witnessmark-probe/1"


Address = Annotated[str, msgspec.Meta(pattern=r"^[0-9A-F]{1,8}$")]
Bytes = Annotated[str, msgspec.Meta(pattern=r"^(?:[0-9A-F]{2})+$")]
Moment = Annotated[str, msgspec.Meta(pattern=r"^[0-9]{1,20}$")]


class Header(Strict, frozen=True, kw_only=True):
    """The first line. `plan` is what was asked for, as text."""

    format: str
    plan: str
    link: str


class LoggedAnswer(Strict, frozen=True, kw_only=True):
    """One answer: the identifier it came on, its bytes, when its first and last part came, on a K-line its header."""

    source: Address
    payload: Bytes
    first_ns: Moment
    last_ns: Moment
    header: HeaderForm = ""


class Logged(Strict, frozen=True, kw_only=True):
    """One request to `target` (hex). `watch`: asked to know whether the vehicle stands, asked anew each time."""

    target: Address
    source: str = ""
    bits: Width = 11
    functional: bool = False
    request: Bytes
    asked_ns: Moment
    answers: tuple[LoggedAnswer, ...] = ()
    watch: bool = False

    @property
    def key(self) -> tuple[str, str]:
        return self.target, self.request

    @property
    def final(self) -> bytes:
        """The last answer that is not 0x78; nothing on silence."""
        return self.finals[-1] if self.finals else b""

    @property
    def finals(self) -> list[bytes]:
        """All answers that are not 0x78: of many units, or of one that takes several messages."""
        payloads = (bytes.fromhex(answer.payload) for answer in self.answers)
        return [one for one in payloads if not (one[:1] == b"\x7f" and one[2:3] == b"\x78")]

    def seen(self) -> Iterator[Seen]:
        """Give what each unit did."""
        asked_on = Line("", int(self.target, 16), self.bits)
        payload, asked_ns = bytes.fromhex(self.request), int(self.asked_ns)
        by_unit: dict[Line, list[Answer]] = {}
        for one in self.answers:
            unit = asked_on._replace(number=int(one.source, 16))
            by_unit.setdefault(unit, []).append(Answer(bytes.fromhex(one.payload), int(one.first_ns), int(one.last_ns)))
        if self.functional:
            yield Seen(None, asked_on, True, payload, asked_ns)
        for unit, answers in by_unit.items():
            if self.bits == 8 and payload[0] < 0x10:
                answers = _as_on_can(answers)
            yield Seen(unit, asked_on, self.functional, payload, asked_ns, tuple(answers))


class Finished(Strict, frozen=True, kw_only=True):
    """The last line of a probe that went through: all that its plan asks for was asked."""

    finished_ns: Moment


class ProbeLog:
    """One log, open to go on. `lines` are those that were there and those that were added.

    `finished_ns` is when the probe went through, None for one that has not.
    """

    def __init__(self, file: BinaryIO, header: Header, lines: list[Logged], finished_ns: int | None = None) -> None:
        self.header = header
        self.lines = lines
        self.finished_ns = finished_ns
        self._file = file
        self._known = {one.key: one for one in lines if not one.watch}

    @classmethod
    def open(cls, path: Path, plan: str, link: str) -> ProbeLog:
        """Open the log at `path`, making it where there is none. Raises InputError for the log of another plan.

        One in which nothing was learned yet begins anew with whatever is asked for now.
        """
        header = Header(format=FORMAT, plan=plan, link=link)
        lines: list[Logged] = []
        try:
            if path.exists() and path.stat().st_size:
                header_read, lines, finished_ns, size = _read(path)
                nothing = _nothing_learned(lines)
                same_kind = _scheme(header_read.link) == _scheme(link)
                if not nothing and not (header_read.plan == plan and same_kind):
                    began = "asks for something else" if same_kind else f"was begun over {header_read.link}, not {link}"
                    raise InputError(
                        f"is the log of a probe that {began}",
                        place=str(path),
                        hint="give the same options to go on with it, or another --output to begin anew",
                    )
                if header_read.plan == plan and same_kind:
                    file = path.open("r+b")
                    file.truncate(size)
                    file.seek(size)
                    return cls(file, header_read, lines, finished_ns)
                lines = []
            file = path.open("w+b")
        except OSError as error:
            raise LocalError(f"{path} cannot be written: {error.strerror}", hint="choose another --output") from error
        log = cls(file, header, lines)
        log._write(header)
        return log

    @classmethod
    def finished(cls, path: Path, plan: str) -> ProbeLog | None:
        """Return the log at `path`, closed, when a probe of this plan went through; None for any other.

        Raises InputError for what is no log.
        """
        try:
            if not path.exists() or not path.stat().st_size:
                return None
            header, lines, finished_ns, _ = _read(path)
            if finished_ns is None or header.plan != plan:
                return None
            file = path.open("rb")
        except OSError as error:
            raise LocalError(f"{path} cannot be read: {error.strerror}", hint="check its rights") from error
        file.close()
        return cls(file, header, lines, finished_ns)

    def known(self, target: str, request: str) -> Logged | None:
        """Return what came of a request that was asked before."""
        return self._known.get((target, request))

    def add(self, line: Logged) -> None:
        """Write a line. Raises LocalError when it cannot be written, before anything else is sent."""
        self._write(line)
        self.lines.append(line)
        if not line.watch:
            self._known[line.key] = line

    def finish(self, now_ns: int) -> None:
        """Write that all was asked; once is enough. Raises as `add` does."""
        if self.finished_ns is None:
            self._write(Finished(finished_ns=str(now_ns)))
            self.finished_ns = now_ns

    @property
    def empty(self) -> bool:
        """Whether nothing was learned yet: nothing was asked but how the vehicle stands, or nobody answered.

        Silence is no knowledge to go on from: the vehicle may be awake when the same is asked next.
        """
        return _nothing_learned(self.lines)

    def close(self) -> None:
        self._file.close()

    def _write(self, line: Header | Logged | Finished) -> None:
        try:
            self._file.write(msgspec.json.encode(line) + b"\n")
            self._file.flush()
        except OSError as error:
            raise LocalError(f"the log cannot be written: {error.strerror}", hint="is the disk full?") from error


def _nothing_learned(lines: list[Logged]) -> bool:
    return not any(one.answers for one in lines if not one.watch)


def _scheme(link: str) -> str:
    return link.partition(":")[0]


def _as_on_can(answers: list[Answer]) -> list[Answer]:
    """A K-line takes several messages where CAN takes one: they are learned from as that one."""
    whole = [one for one in answers if one.payload[:1] != b"\x7f"]
    rest = [one for one in answers if one.payload[:1] == b"\x7f"]
    if not whole:
        return rest
    return [*rest, Answer(as_on_can([one.payload for one in whole]), whole[0].first_ns, whole[-1].last_ns)]


def _read(path: Path) -> tuple[Header, list[Logged], int | None, int]:
    """Return header, lines, when the probe went through, and how many bytes of the file are whole lines."""
    data = path.read_bytes()
    size = data.rfind(b"\n") + 1
    first, *rest = data[:size].splitlines() or [b""]
    try:
        header = msgspec.json.decode(first, type=Header)
        ends = [msgspec.json.decode(line, type=Finished) for line in rest if line.startswith(_FINISHED)]
        lines = [msgspec.json.decode(line, type=Logged) for line in rest if not line.startswith(_FINISHED)]
    except msgspec.MsgspecError as error:
        raise InputError(f"is no log of a probe: {error}", place=str(path), hint="choose another --output") from error
    if header.format != FORMAT:
        raise InputError("is no log of a probe", place=str(path), hint="choose another --output")
    for number, line in enumerate(lines, 2):
        if not FORMS.fullmatch(bytes.fromhex(line.request)):
            what = f"says that {line.request} was asked, which no probe asks"
            raise InputError(what, place=f"{path} line {number}", hint="it was edited: choose another --output")
    return header, lines, int(ends[-1].finished_ns) if ends else None, size


_FINISHED = b'{"finished_ns":'
