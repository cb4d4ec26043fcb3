"""Learning a vehicle through a link or from a recording: opens what has to be opened, hands on, closes.

An address or a path flows in, a learner or a log flows out. Rules that hold here: a live listening link is one that
cannot send; what it hears is written to a recording first, and learned from that recording, so that the evidence of
every fact is a file.
"""

from __future__ import annotations

import hashlib
import mmap
from collections.abc import Callable
from pathlib import Path

from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.host.speaking import conversation, opened
from witnessmark.link.frame import Frame
from witnessmark.link.port import MessageLink
from witnessmark.mapping.learn import Learner
from witnessmark.mapping.listen import listen
from witnessmark.mapping.model import ProtocolMap
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.peers import everybody, fit
from witnessmark.mapping.probe import Probe, ProbePlan, Progress
from witnessmark.mapping.probe_log import ProbeLog
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.standstill import Standstill
from witnessmark.recording.file import Recording, open_recording
from witnessmark.recording.reading import read_recording

FLOOR_REAL_S = 0.005
"""Added to P2 while probing: a unit that answers later than that is still noticed, as late."""


def learn_recording(recording: Recording, namer: Namer = nobody) -> Learner:
    """Return a learner that has taken in a whole recording; `recording.damage` tells what could not be read."""
    try:
        with recording.path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(recording.path), hint="check its rights"
        ) from error
    content = recording.content
    if isinstance(content, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED"):
        recording.progress = lambda behind: _give_back(content, behind)
    return listen(read_recording(recording), recording.path.name, digest, namer)


def _give_back(content: mmap.mmap, behind: int) -> None:
    """Let the system have the pages that are behind: a recording may be longer than the memory."""
    whole = min(behind, len(content)) // mmap.PAGESIZE * mmap.PAGESIZE
    if whole:
        content.madvise(mmap.MADV_DONTNEED, 0, whole)


def record(
    link_address: str,
    path: Path,
    *,
    stop: Callable[[], bool],
    heard: Callable[[int, int], None] = lambda frames, wall_ns: None,
    lost: Callable[[str], None] = lambda why: None,
) -> Recording:
    """Write what a listen-only link hears to `path` until `stop` or until the link ends; return it as a recording.

    `heard` is told how many frames there are and what time it is, some times a second; `lost` why the link ended.
    Raises LocalError for a link
    that cannot listen without sending, or that does not show frames.
    """
    with opened(link_address, listen_only=True) as (link, clock):
        if isinstance(link, MessageLink):  # it has all that a FrameLink has, and more
            raise LocalError(
                "this interface shows whole messages, not what others say on the bus",
                hint="listen with an interface that carries frames, or learn from a recording",
            )
        count, told_ns = 0, 0
        try:
            with path.open("w", encoding="ascii") as file:
                ended = ""
                while not ended and not stop():
                    for one in link.receive(0.05):
                        if isinstance(one, Frame):
                            file.write(_line(one))
                            count += 1
                        elif one.kind == "lost":
                            ended = one.detail or "without a word"
                    now = clock.stamp()
                    if now.mono_ns - told_ns > NS // 5:
                        told_ns = now.mono_ns
                        heard(count, now.wall_ns)
                if ended:
                    lost(ended)
        except OSError as error:
            raise LocalError(f"{path} cannot be written: {error.strerror}", hint="choose another --output") from error
    return open_recording(path)


def probe(
    link_address: str,
    plan: ProbePlan,
    log_path: Path,
    *,
    known: ProtocolMap | None,
    confirm: Callable[[str], bool],
    tell: Callable[[Progress], None],
    stop: Callable[[], bool],
    note: Callable[[str], None] = lambda text: None,
) -> tuple[ProbeLog, ProbeStopped | None]:
    """Probe a vehicle and return the log, closed, and why it ended early; None when it went through.

    `note` is told what of the vehicle nobody but a person watches meanwhile, and when that changes.
    A log in which nothing was learned is not left behind, however it ends. KeyboardInterrupt ends it as `stop` does.

    Raises InputError, nothing sent, for addresses that are not of this link's kind: a K-line is the one that is
    half-duplex.
    """
    with conversation(link_address, floor_real_s=FLOOR_REAL_S) as talk:
        fit(plan.peers, kline=talk.link.capabilities.half_duplex)
        log = ProbeLog.open(log_path, str(plan), link_address)
        early: ProbeStopped | None = None
        try:
            reader = Reader(talk, log, accepted=plan.extended_session, stop=stop)
            Probe(plan, reader, Standstill(known, confirm, everybody(plan.peers), note), tell).run()
        except ProbeStopped as end:
            early = end
        except KeyboardInterrupt:
            early = ProbeStopped("stopped at once, as asked twice")
        finally:
            log.close()
            if log.empty:  # nobody is kept to these options by a log in which nothing was learned
                log_path.unlink(missing_ok=True)
    return log, early


def _line(frame: Frame) -> str:
    """One frame as candump text."""
    us = frame.stamp.wall_ns // 1000
    can_id = f"{frame.can_id:08X}" if frame.extended else f"{frame.can_id:03X}"
    body = "R" if frame.kind == "remote" else frame.data.hex().upper()
    mark = "##0" if frame.fd else "#"
    return f"({us // 1_000_000}.{us % 1_000_000:06d}) {frame.channel or 'can0'} {can_id}{mark}{body}\n"
