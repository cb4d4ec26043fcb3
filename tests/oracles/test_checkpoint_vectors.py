"""Signatures and notes against their sources.

RFC 8032, 7.1: Ed25519 test vectors 1 to 3 (from memory). Notes are read by a second reader, written here from the text
of C2SP signed-note and tlog-checkpoint (from memory) alone.
"""

from __future__ import annotations

import base64
import hashlib

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from witnessmark.journal import checkpoint
from witnessmark.journal.checkpoint import Checkpoint, JobPin, Note, PublicKey, Signature
from witnessmark.journal.keys import SigningKey

RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_signatures_are_those_of_rfc_8032(secret: str, public: str, message: str, signature: str) -> None:
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    key = SigningKey(PublicKey("vector", private.public_key().public_bytes_raw()), private)
    assert key.public.raw.hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature


def second_reader(note: str, vkey: str) -> tuple[str, int, bytes, list[str]]:
    """Read a signed tlog-checkpoint from the C2SP text alone; raises when its signature does not hold."""
    text, _, below = note.partition("\n\n")
    text += "\n"
    name, key_hash, code = vkey.split("+", 2)
    kind_and_key = base64.b64decode(code)
    assert kind_and_key[0] == 1
    assert hashlib.sha256(f"{name}\n".encode() + kind_and_key).digest()[:4].hex() == key_hash
    lines = [line.split(" ") for line in below.splitlines()]
    (signature,) = [base64.b64decode(code) for dash, who, code in lines if dash == "\u2014" and who == name]
    assert signature[:4].hex() == key_hash
    Ed25519PublicKey.from_public_bytes(kind_and_key[1:]).verify(signature[4:], text.encode())
    origin, size, root, *more = text.splitlines()
    return origin, int(size), base64.b64decode(root), more


def test_our_note_is_read_by_a_second_reader() -> None:
    private = Ed25519PrivateKey.generate()
    key = SigningKey(PublicKey("bay1.depot.example", private.public_key().public_bytes_raw()), private)
    made = Checkpoint("bay1.depot.example", 5, b"\x07" * 32, JobPin(3, "0f" * 32, "J-9"))
    note = checkpoint.sign(checkpoint.checkpoint_text(made), key)
    cosigned = Note(note.text, (*note.signatures, Signature("watcher.example", b"abcd", bytes(72))))
    head = base64.b64encode(bytes.fromhex("0f" * 32)).decode()
    read = second_reader(str(cosigned), str(key.public))
    assert read == ("bay1.depot.example", 5, b"\x07" * 32, [f"job J-9 3 {head}"])
