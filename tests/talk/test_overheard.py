"""Another tester on identifiers that nobody named: told by a request that is answered, and by nothing else."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from witnessmark.clock import NS, Stamp
from witnessmark.link.frame import Frame
from witnessmark.recording.file import open_recording
from witnessmark.talk.overheard import Overheard

CAPTURES = Path(__file__).parents[1] / "captures"
ASK, ANSWER = 0x6A0, 0x6A8


def frame(can_id: int, text: str, at_s: float = 0.0) -> Frame:
    ns = round(at_s * NS)
    return Frame(can_id, bytes.fromhex(text), Stamp(ns, ns))


@pytest.mark.parametrize(
    ("request_", "answer"),
    [
        ("023E000000000000", "027E000000000000"),
        ("021003", "065003003201F4"),
        ("0322F190AAAAAAAA", "101462F190313131"),
        ("05310173100800", "0471017310CCCCCC"),
        ("053101731008", "037F3131"),
        ("021A87", "055A87010203"),
        ("100C2E710001020304", "036E7100"),
    ],
)
def test_a_request_that_is_answered_elsewhere_is_another_testers(request_: str, answer: str) -> None:
    ears = Overheard()
    asked = frame(ASK, request_[:16])
    assert ears.hear(asked) is None
    assert ears.hear(frame(ANSWER, answer, 0.03)) is asked


@pytest.mark.parametrize(
    ("request_", "answer", "answers_on", "after_s"),
    [
        ("0322F190AAAAAAAA", "0462F19131", ANSWER, 0.03),  # another identifier
        ("021003", "065001003201F4", ANSWER, 0.03),  # another session
        ("021003", "065003003201F4", ASK, 0.03),  # the same sender
        ("021003", "065003003201F4", ANSWER, 1.1),  # much later
        ("021003", "037F3111", ANSWER, 0.03),  # another service refused
        ("021003", "037F1001", ANSWER, 0.03),  # refused by no code there is
        ("0210031234567890", "065003003201F4", ANSWER, 0.03),  # filled by chance
        ("0210030000000000", "0350031234567890", ANSWER, 0.03),
        ("0414FFFFFF", "0154", ANSWER, 0.03),  # it repeats the service alone
        ("2110030000000000", "065003003201F4", ANSWER, 0.03),  # no beginning of a message
        ("", "", ANSWER, 0.03),
    ],
)
def test_what_may_be_ordinary_traffic_is_none(request_: str, answer: str, answers_on: int, after_s: float) -> None:
    ears = Overheard()
    assert ears.hear(frame(ASK, request_)) is None
    assert ears.hear(frame(answers_on, answer, after_s)) is None


def test_two_identifiers_of_one_number_and_other_lengths_do_not_answer_each_other() -> None:
    ears = Overheard()
    ears.hear(frame(ASK, "021003"))
    data = bytes.fromhex("065003003201F4")
    assert ears.hear(Frame(ANSWER, data, Stamp(0, 0), extended=True)) is None


@pytest.mark.parametrize(("name", "speaks"), [("no-diagnostics.log", False), ("fault-scan.log", True)])
def test_a_recording_of_a_tester_is_told_from_one_of_ordinary_traffic(name: str, speaks: bool) -> None:
    ears = Overheard()
    found = [one for frame_ in open_recording(CAPTURES / name).frames() if (one := ears.hear(_live(frame_)))]
    assert bool(found) is speaks


def _live(one: object) -> Frame:
    can_id, data, ns = one.can_id, one.data, one.stamp.wall_ns  # type: ignore[attr-defined]
    return Frame(can_id, bytes(data), Stamp(ns, ns), extended=one.extended)  # type: ignore[attr-defined]


def test_noise_is_hardly_ever_taken_for_a_tester() -> None:
    chance, ears = random.Random(7), Overheard()
    frames = (Frame(chance.randrange(0x700), chance.randbytes(8), Stamp(0, at * NS // 4000)) for at in range(200_000))
    assert sum(ears.hear(one) is not None for one in frames) <= 1
