"""What passive reading gives, part by part."""

import pytest

from witnessmark.recording.conversation import is_pending


@pytest.mark.parametrize(
    ("payload", "pending"), [("7F3178", True), ("7F317800", True), ("7F3122", False), ("7F31", False), ("", False)]
)
def test_only_a_whole_refusal_with_78_says_that_another_answer_follows(payload, pending):
    assert is_pending(bytes.fromhex(payload)) is pending
