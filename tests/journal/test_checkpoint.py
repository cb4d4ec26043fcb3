"""Checkpoint texts, notes and anchors: read to the letter, refused otherwise."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from witnessmark.errors import InputError
from witnessmark.journal import checkpoint
from witnessmark.journal.checkpoint import Anchor, Checkpoint, JobPin, PublicKey
from witnessmark.journal.keys import SigningKey

PRIVATE = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
KEY = SigningKey(PublicKey("bay1.depot.example", PRIVATE.public_key().public_bytes_raw()), PRIVATE)
PLAIN = Checkpoint("bay1.depot.example", 77, bytes(32))
PINNED = Checkpoint("bay1.depot.example", 77, bytes(32), JobPin(12, "ab" * 32, "J-1"))
ROOT = "A" * 43 + "="


def test_the_text_of_a_checkpoint_is_fixed_to_the_byte() -> None:
    assert checkpoint.checkpoint_text(PLAIN) == f"bay1.depot.example\n77\n{ROOT}\n"
    assert checkpoint.checkpoint_text(PINNED).splitlines()[3].startswith("job J-1 12 q6ur")


@pytest.mark.parametrize("one", [PLAIN, PINNED])
def test_it_reads_back(one: Checkpoint) -> None:
    assert checkpoint.parse_checkpoint(checkpoint.checkpoint_text(one)) == one


def test_an_extension_line_that_nobody_knows_is_skipped() -> None:
    assert checkpoint.parse_checkpoint(checkpoint.checkpoint_text(PLAIN) + "weather fine\n") == PLAIN


@pytest.mark.parametrize(
    "text",
    [
        f"o\n77\n{ROOT}",
        f"o\n077\n{ROOT}\n",
        f"o\n-1\n{ROOT}\n",
        f"\n7\n{ROOT}\n",
        "o\n7\nAAAA\n",
        "o\n7\n!!!!\n",
        f"o\n7\n{ROOT[:-2]}B=\n",
        f"o\n7\n{ROOT}\n\nmore\n",
        f"o\n7\n{ROOT}\njob J-1 1 AAAA\n",
        f"o\n7\n{ROOT}\njob A 1 {ROOT}\njob B 1 {ROOT}\n",
        "",
    ],
)
def test_another_text_is_no_checkpoint(text: str) -> None:
    with pytest.raises(InputError) as caught:
        checkpoint.parse_checkpoint(text, place="sheet")
    assert caught.value.place == "sheet"


def test_a_note_reads_back_and_its_signature_holds_for_its_text_alone() -> None:
    note = checkpoint.sign(checkpoint.checkpoint_text(PINNED), KEY)
    read = checkpoint.parse_note(str(note))
    assert read == note
    assert checkpoint.signed_by(read, KEY.public) is True
    changed = checkpoint.parse_note(str(note).replace("\n77\n", "\n78\n"))
    assert checkpoint.signed_by(changed, KEY.public) is False
    assert checkpoint.signed_by(read, PublicKey("bay1.depot.example", bytes(32))) is None


def test_a_line_of_another_key_is_kept_and_left_alone() -> None:
    note = checkpoint.sign(checkpoint.checkpoint_text(PLAIN), KEY)
    both = checkpoint.parse_note(f"{note}\u2014 watcher.example AAAAAAAAAAAAAAAA\n")
    assert len(both.signatures) == 2
    assert checkpoint.signed_by(both, KEY.public) is True
    assert checkpoint.signer_of(both, [PublicKey("x", bytes(32)), KEY.public]) == (KEY.public, True)
    assert checkpoint.signer_of(both, [PublicKey("x", bytes(32))]) == (None, False)


@pytest.mark.parametrize(
    "text",
    [
        "no signature\n",
        "text\n\n",
        "text\n\n- name AAAAAAAA\n",
        "text\n\n\u2014 name\n",
        "text\n\n\u2014  AAAAAAAA\n",
        "text\n\n\u2014 name AAAA\n",
        "text\n\n\u2014 name AAAAAAAA",
        "te\txt\n\n\u2014 name AAAAAAAA\n",
        "text\r\n\n\u2014 name AAAAAAAA\n",
    ],
)
def test_another_text_is_no_note(text: str) -> None:
    with pytest.raises(InputError):
        checkpoint.parse_note(text)


def test_a_public_key_prints_and_reads_back() -> None:
    assert checkpoint.parse_key(str(KEY.public)) == KEY.public
    for spoiled in ("", "name+00000000+AQ==", str(KEY.public).replace("bay1", "bay2"), str(KEY.public)[:-4]):
        with pytest.raises(InputError):
            checkpoint.parse_key(spoiled)


def test_an_anchor_is_a_signed_checkpoint_or_a_count_and_head() -> None:
    note = checkpoint.sign(checkpoint.checkpoint_text(PINNED), KEY)
    assert checkpoint.parse_anchor(str(note)) == Anchor(note=note)
    assert checkpoint.parse_anchor(str(note).replace("\n", "\r\n") + "\r\n") == Anchor(note=note)
    assert checkpoint.parse_anchor(" 12  ABCD 0123 4567 89ab ") == Anchor(pin=JobPin(12, "abcd0123456789ab"))
    assert checkpoint.parse_anchor("12:" + "0f" * 32) == Anchor(pin=JobPin(12, "0f" * 32))


@pytest.mark.parametrize(
    "text", ["", "12", "12 abcd", "0 abcdabcdabcdabcd", "12 " + "0" * 65, "x\n\n\u2014 name AAAAAAAA\n"]
)
def test_anything_else_is_no_anchor(text: str) -> None:
    with pytest.raises(InputError):
        checkpoint.parse_anchor(text)
