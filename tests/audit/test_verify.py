"""An evidence file is checked by itself and against an anchor; what each can show is told apart."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from tests.journal.shop import Shop, open_shop, signing_key

from witnessmark.audit.verify import verify
from witnessmark.errors import InputError
from witnessmark.journal import checkpoint, entry, evidence, keys, sealing
from witnessmark.journal.checkpoint import Anchor, JobPin
from witnessmark.journal.entry import Draft, LaterFormat


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = open_shop(tmp_path)
    made.work(5)
    with made.journal:
        yield made


def sheet(shop: Shop) -> checkpoint.Note:
    return sealing.seal_job(shop.journal, shop.key, "J-1", "person:lead", sheet=True, why="printed").note


def whole(shop: Shop) -> checkpoint.Note:
    return sealing.seal(shop.journal, shop.key, "machine:shop", "on demand").note


def test_without_a_proof_a_file_is_at_best_consistent(shop: Shop) -> None:
    found = verify(sealing.unsealed_evidence(shop.journal, "J-1"))
    assert found.verdict == "consistent, unanchored"
    assert [one.job_seq for one in found.entries] == list(range(5))
    assert found.head == shop.journal.job_head("J-1").head.hex()


def test_with_a_proof_and_no_anchor_it_is_still_unanchored(shop: Shop) -> None:
    found = verify(sealing.evidence_of(shop.journal, "J-1", whole(shop)), key=shop.key.public)
    assert found.verdict == "consistent, unanchored"
    assert "anchor" in found.text


def test_a_sheet_held_by_the_customer_makes_it_intact(shop: Shop) -> None:
    held = sheet(shop)
    shop.work(4)
    found = verify(sealing.evidence_of(shop.journal, "J-1", whole(shop)), Anchor(note=held))
    assert (found.verdict, found.anchor_size) == ("intact", 12)
    assert found.remarks == ("5 entries came after the anchor, and no anchor covers that",)


def test_count_and_head_typed_in_make_it_intact_even_without_a_proof(shop: Shop) -> None:
    head = shop.journal.job_head("J-1").head.hex()
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    found = verify(data, checkpoint.parse_anchor(f"5 {head[:16]}"))
    assert (found.verdict, found.anchor_size) == ("intact", 5)
    wrong = verify(data, checkpoint.parse_anchor(f"4 {head[:16]}"))
    assert (wrong.verdict, wrong.anchor_only, wrong.seq) == ("altered", True, found.entries[3].seq)
    short = verify(data, checkpoint.parse_anchor(f"6 {head[:16]}"))
    assert (short.verdict, short.anchor_only) == ("entries missing", True)


def test_an_anchor_of_another_job_s_sheet_counts_for_the_tree(shop: Shop) -> None:
    held = sealing.seal_job(shop.journal, shop.key, "J-2", "person:lead", sheet=True, why="printed").note
    now = whole(shop)
    found = verify(sealing.evidence_of(shop.journal, "J-1", now), Anchor(note=held))
    assert (found.verdict, found.place) == ("incomplete", "proof.consistency")
    found = verify(sealing.evidence_of(shop.journal, "J-1", now, also=[held]), Anchor(note=held))
    assert (found.verdict, found.anchor_size) == ("intact", 12)
    assert "last ones were left out would not show" in found.remarks[0]


def test_an_anchor_without_the_job_s_count_says_nothing_of_a_file_without_proof(shop: Shop) -> None:
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    assert verify(data, Anchor(note=whole(shop))).verdict == "incomplete"
    found = verify(data, Anchor(note=sheet(shop)))
    assert found.verdict == "intact"
    assert "nobody checked the anchor's signature" in found.remarks[0]
    assert "unsigned checkpoint" in found.text


def test_a_false_anchor_does_not_pass_where_the_shop_s_key_is_held(shop: Shop) -> None:
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    held = sheet(shop)
    assert verify(data, Anchor(note=held), shop.key.public).verdict == "intact"
    assert verify(data, Anchor(note=held), signing_key(7).public).verdict == "wrong key"


def test_a_file_without_its_proof_is_held_against_the_checkpoints_in_its_entries(shop: Shop) -> None:
    sheet(shop)
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    found = verify(data)
    assert (found.verdict, found.place) == ("incomplete", "proof")
    assert "entry" in found.text and "nothing in it is signed" not in found.text


def test_a_file_older_than_the_sheet_lacks_entries(shop: Shop) -> None:
    early = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    shop.work(1)
    found = verify(early, Anchor(note=sheet(shop)))
    assert (found.verdict, found.anchor_only) == ("entries missing", True)
    assert "the last 1 are missing" in found.text
    assert verify(early, Anchor(note=whole(shop))).verdict == "incomplete"


def test_a_key_held_elsewhere_must_be_one_that_leads_to_the_signature(shop: Shop) -> None:
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    found = verify(data, key=signing_key(9).public)
    assert (found.verdict, found.anchor_only) == ("wrong key", True)


def test_a_replaced_key_that_was_vouched_for_still_counts(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(keys.SCRYPT, "n", 2)
    held, old = sheet(shop), shop.key
    keys.replace(shop.journal, old, "new", "person:lead")
    shop.key = keys.load(shop.journal, "new")
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    assert verify(data, Anchor(note=held), old.public).verdict == "intact"
    assert verify(data, Anchor(note=held), shop.key.public).verdict == "intact"


def test_a_replaced_key_that_nobody_vouched_for_is_the_wrong_one(shop: Shop) -> None:
    held, old, new = sheet(shop), shop.key, signing_key(9)
    shop.journal.append(Draft("key", None, "person:lead", body={"key": str(new.public), "passphrase": False}))
    shop.key = new
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    assert verify(data).verdict == "consistent, unanchored"
    assert verify(data, key=old.public).verdict == "wrong key"
    assert verify(data, Anchor(note=held)).verdict == "wrong key"


def test_an_anchor_read_in_wrongly_is_an_error_of_the_reader(shop: Shop) -> None:
    held = sheet(shop)
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    spoiled = checkpoint.parse_anchor(str(held).replace("\n12\n", "\n13\n"))
    with pytest.raises(InputError, match="signature does not hold"):
        verify(data, spoiled)


@pytest.mark.parametrize("data", [b"", b"words", b"{}", b'{"entries":[', b'[{"entries":[]}]', b"\xff\xfe"])
def test_what_is_no_evidence_file_is_an_error(data: bytes) -> None:
    with pytest.raises(InputError):
        verify(data)


def test_a_later_format_is_an_error_that_says_what_to_do(shop: Shop) -> None:
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    for later in (
        data.replace(b'],"format":1,', b'],"format":2,'),
        data.replace(b'],"format":1,"proof":null', b'],"format":2,"proof":{"more":[]}'),
        data.replace(b'"person:p1","format":1', b'"person:p1","format":2'),
    ):
        with pytest.raises(LaterFormat) as caught:
            verify(later)
        assert "newer version" in caught.value.hint


def test_no_entry_at_all_is_incomplete() -> None:
    assert verify(b'{"entries":[],"format":1,"proof":null}').verdict == "incomplete"


@pytest.mark.parametrize("end", ["last entry", "proof"])
def test_a_file_cut_off_is_readable_up_to_there(shop: Shop, end: str) -> None:
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    cut = data[: data.index(b'"proof":') + 40] if end == "proof" else data[: data.index(b'"format":1,"proof"') - 30]
    found = verify(cut)
    assert found.verdict == "end damaged"
    assert len(found.entries) == (5 if end == "proof" else 4)
    assert found.seq == found.entries[-1].seq


def test_no_flipped_bit_is_ever_called_intact(shop: Shop) -> None:
    held = sheet(shop)
    data = sealing.evidence_of(shop.journal, "J-1", whole(shop))
    assert verify(data, Anchor(note=held)).verdict == "intact"
    for at in range(0, len(data), 11):
        spoiled = bytearray(data)
        spoiled[at] ^= 1 << (at % 8)
        try:
            verdict = verify(bytes(spoiled), Anchor(note=held)).verdict
        except InputError:
            continue
        assert verdict != "intact", f"byte {at}"


def test_a_pin_of_another_job_says_nothing() -> None:
    from witnessmark.audit.chain import Chain, check_pin

    assert check_pin(Chain((), ()), JobPin(9, "00" * 32, "J-9"), "sheet", "anchor") is None


def test_the_entry_it_stumbled_on_is_named(shop: Shop) -> None:
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    third = list(shop.journal.entries("J-1"))[2]
    found = verify(data.replace(b'"n":2', b'"n":7'))
    assert (found.verdict, found.seq, found.place) == ("altered", third.seq, "entries[2]")
    without = data.replace(entry.text(third) + b",", b"")
    found = verify(without)
    assert (found.verdict, found.place) == ("entries missing", "entries[2]")


def test_an_anchor_from_before_the_job_began_covers_none_of_it_and_is_no_proof(shop: Shop) -> None:
    held = whole(shop)
    shop.work(2, ("J-9",))
    found = verify(sealing.evidence_of(shop.journal, "J-9", whole(shop), also=[held]), Anchor(note=held))
    assert (found.verdict, found.place, found.anchor_only) == ("incomplete", "anchor", True)
    assert "covers none" in found.text


def test_a_key_held_elsewhere_says_nothing_of_a_file_in_which_nothing_is_signed(shop: Shop) -> None:
    data = sealing.unsealed_evidence(shop.journal, "J-1")
    assert verify(data, key=shop.key.public).verdict == "incomplete"


def test_a_checkpoint_that_does_not_count_the_job_leaves_open_whether_its_last_entries_are_there(shop: Shop) -> None:
    counted = verify(sealing.evidence_of(shop.journal, "J-1", sheet(shop)))
    assert counted.remarks == ()
    uncounted = verify(sealing.evidence_of(shop.journal, "J-1", whole(shop)))
    assert uncounted.verdict == "consistent, unanchored"
    assert "last ones were left out would not show" in uncounted.remarks[0]


def test_a_head_typed_wrongly_is_shown_beside_the_file_s_own(shop: Shop) -> None:
    head = shop.journal.job_head("J-1").head.hex()
    typo = ("0" if head[0] != "0" else "1") + head[1:]
    found = verify(sealing.unsealed_evidence(shop.journal, "J-1"), checkpoint.parse_anchor(f"5 {typo}"))
    assert found.verdict == "altered" and head in found.text


def test_an_entry_in_the_proof_that_is_neither_genesis_nor_key_is_refused(shop: Shop) -> None:
    note = whole(shop)
    document = evidence.read(sealing.evidence_of(shop.journal, "J-1", note))
    other = evidence.read(sealing.evidence_of(shop.journal, "J-2", note))
    assert document.proof is not None and other.proof is not None
    grounds = document.proof.journal
    foreign = evidence.Ground(other.entries[0], other.proof.inclusion[0])
    for journal in ((*grounds, foreign), grounds[::-1], (*grounds, grounds[-1])):
        proof = msgspec.structs.replace(document.proof, journal=journal)
        found = verify(evidence.write([bytes(one) for one in document.entries], proof))
        assert found.verdict == "altered" and "does not belong there" in found.text


def test_two_files_put_together_are_no_evidence_of_either(shop: Shop) -> None:
    one, other = (sealing.unsealed_evidence(shop.journal, job) for job in ("J-1", "J-2"))
    found = verify(one + other)
    assert found.verdict == "end damaged" and found.job == "J-1"
