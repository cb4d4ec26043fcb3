"""The QR code of a sheet says the signed checkpoint to the letter."""

from __future__ import annotations

import pytest
import segno
from tests.journal.shop import signing_key
from tests.report import qr_picture

from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal.checkpoint import Checkpoint, JobPin
from witnessmark.report.drawing.qr import QUIET, qr


def note(size: int, job: str = "251125-1", origin: str = "bay1.depot.example") -> str:
    said = Checkpoint(origin, size, bytes(range(32)), JobPin(size - 1, "5a" * 32, job))
    return str(checkpoints.sign(checkpoints.checkpoint_text(said), signing_key(1, origin)))


NOTES = [note(2), note(1_234_567), note(40, "J" * 64, "b" * 80)]


@pytest.mark.parametrize("text", NOTES, ids=len)
def test_the_picture_is_the_code_of_this_text_with_light_around_it(text: str) -> None:
    shown = qr_picture.modules(str(qr(text)))
    code = segno.make_qr(text, error="m", encoding="utf-8", boost_error=False, mode="byte")
    assert shown == [[module > 0 for module in row] for row in code.matrix_iter(border=QUIET)]
    assert not any(map(any, shown[:QUIET])) and not any(any(row[:QUIET]) for row in shown)
    assert code.designator.endswith("-M")


def test_another_program_reads_the_text_back() -> None:
    for text in NOTES:
        found = qr_picture.read(str(qr(text)))
        assert found == text
        assert checkpoints.parse_anchor(found).note == checkpoints.parse_note(text)
