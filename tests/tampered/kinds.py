"""What is done to an evidence file, one function a kind. Each takes the honest file and returns the tampered bytes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.journal.shop import Shop, signing_key
from tests.tampered.forge import FORGER, Document, Honest, chain, history, spell
from witnessmark.journal import checkpoint
from witnessmark.journal.entry import Draft

KINDS: dict[str, Callable[[Honest], bytes]] = {}
Edit = Callable[[Document], Any]


def kind(make: Callable[[Honest], bytes]) -> Callable[[Honest], bytes]:
    KINDS[make.__name__] = make
    return make


def edit(change: Edit) -> None:
    """Register a change to the parsed file, which is then spelled rightly again, under the function's name."""

    def make(honest: Honest) -> bytes:
        document = honest.document()
        changed = change(document)
        return spell(changed if isinstance(changed, dict) else document) + b"\n"

    KINDS[change.__name__] = make


@kind
def nothing_done(honest: Honest) -> bytes:
    return honest.data


@edit
def body_edited(file: Document) -> None:
    file["entries"][1]["body"]["pressure"] = "2.4"


@edit
def other_person_named(file: Document) -> None:
    file["entries"][1]["done_by"] = "person:p2"


@edit
def time_moved(file: Document) -> None:
    file["entries"][1]["occurred"]["from"] = "1600000000000000000"


@edit
def practice_rate_added(file: Document) -> None:
    file["entries"][2]["recorded"]["rate"] = 8


@edit
def salt_changed(file: Document) -> None:
    file["entries"][1]["salt"] = "00" * 16


@edit
def kind_changed(file: Document) -> None:
    file["entries"][1]["kind"] = "outcome"


@edit
def last_entry_edited(file: Document) -> None:
    file["entries"][-1]["body"]["act"] = "opened"


@edit
def entry_deleted(file: Document) -> None:
    del file["entries"][1], file["proof"]["inclusion"][1]


@edit
def entry_deleted_and_the_rest_renumbered(file: Document) -> None:
    del file["entries"][1], file["proof"]["inclusion"][1]
    for number, one in enumerate(file["entries"]):
        one["job_seq"] = number


@edit
def entry_deleted_and_the_rest_chained_anew(file: Document) -> Document:
    del file["entries"][1], file["proof"]["inclusion"][1]
    return chain(file)


@edit
def entry_deleted_chained_anew_and_proof_removed(file: Document) -> Document:
    del file["entries"][1]
    file["proof"] = None
    return chain(file)


@edit
def entry_put_in_and_the_rest_chained_anew(file: Document) -> Document:
    file["entries"].insert(1, file["entries"][0] | {"seq": 3, "salt": "11" * 16})
    file["proof"]["inclusion"].insert(1, file["proof"]["inclusion"][0])
    return chain(file)


@edit
def first_entry_left_out(file: Document) -> None:
    del file["entries"][0], file["proof"]["inclusion"][0]


@edit
def last_entries_dropped(file: Document) -> None:
    del file["entries"][-2:], file["proof"]["inclusion"][-2:]


@kind
def last_entries_dropped_under_a_checkpoint_without_count(_: Honest) -> bytes:
    document = history(plain=True).document()
    del document["entries"][5:], document["proof"]["inclusion"][5:]
    document["proof"]["consistency"] = document["proof"]["consistency"][:1]
    return spell(document)


@edit
def amendment_hidden(file: Document) -> None:
    at = next(number for number, one in enumerate(file["entries"]) if one["kind"] == "amendment")
    del file["entries"][at], file["proof"]["inclusion"][at]


@edit
def entries_swapped(file: Document) -> None:
    for rows in (file["entries"], file["proof"]["inclusion"]):
        rows[1], rows[2] = rows[2], rows[1]


@edit
def entry_there_twice(file: Document) -> None:
    for rows in (file["entries"], file["proof"]["inclusion"]):
        rows.insert(2, rows[1])


@edit
def entry_of_another_job_put_in(file: Document) -> None:
    file["entries"].insert(1, file["entries"][1] | {"job": "J-2", "seq": 3})
    file["proof"]["inclusion"].insert(1, file["proof"]["inclusion"][1])


@edit
def job_renamed(file: Document) -> None:
    for one in file["entries"]:
        one["job"] = "J-9"


@edit
def entry_number_changed(file: Document) -> None:
    file["entries"][0]["seq"] = 1


@kind
def journal_rebuilt_with_another_key(_: Honest) -> bytes:
    return history(2, key=FORGER, pressure="2.4").data


@kind
def journal_rebuilt_with_the_same_key(_: Honest) -> bytes:
    return history(2, pressure="2.4").data


@kind
def journal_rebuilt_naming_the_old_key_first(_: Honest) -> bytes:
    def take_over(shop: Shop) -> None:
        shop.key = FORGER
        body = {"key": str(FORGER.public), "passphrase": False}
        shop.journal.append(Draft("key", None, "person:lead", body=body))

    return history(2, pressure="2.4", after_key=take_over).data


@kind
def journal_rebuilt_with_a_key_vouched_for_by_itself(_: Honest) -> bytes:
    def take_over(shop: Shop) -> None:
        shop.key = FORGER
        vouched = checkpoint.sign(checkpoint.vouching_text(FORGER.public), FORGER)
        body = {"key": str(FORGER.public), "passphrase": False, "vouched": str(vouched)}
        shop.journal.append(Draft("key", None, "person:lead", body=body))

    return history(2, pressure="2.4", after_key=take_over).data


@kind
def journal_taken_back_to_the_sheet_and_written_on_otherwise(_: Honest) -> bytes:
    return history(after_sheet="nothing leaked").data


@edit
def entries_moved_to_another_journal(file: Document) -> None:
    other = history(3, origin="bay2.depot.example", key=signing_key(2, "bay2.depot.example")).document()
    file["proof"] = other["proof"]


@edit
def checkpoint_of_another_journal(file: Document) -> None:
    other = history(3, origin="bay2.depot.example", key=signing_key(2, "bay2.depot.example"))
    file["proof"]["checkpoint"] = other.last


@edit
def checkpoint_of_another_journal_of_the_same_name(file: Document) -> None:
    file["proof"]["checkpoint"] = history(4).last


@edit
def checkpoint_size_changed(file: Document) -> None:
    file["proof"]["checkpoint"] = file["proof"]["checkpoint"].replace("\n13\n", "\n14\n")


@edit
def checkpoint_count_lowered(file: Document) -> None:
    file["proof"]["checkpoint"] = file["proof"]["checkpoint"].replace("job J-1 7 ", "job J-1 6 ")
    del file["entries"][-1], file["proof"]["inclusion"][-1]


@edit
def checkpoint_signed_by_nobody_known(file: Document) -> None:
    text = checkpoint.parse_note(file["proof"]["checkpoint"]).text
    file["proof"]["checkpoint"] = str(checkpoint.sign(text, FORGER))


@edit
def checkpoint_signature_garbled(file: Document) -> None:
    note = checkpoint.parse_note(file["proof"]["checkpoint"])
    line = note.signatures[0]
    spoiled = checkpoint.Signature(line.name, line.key_id, line.value[:-1] + bytes([line.value[-1] ^ 1]))
    file["proof"]["checkpoint"] = str(checkpoint.Note(note.text, (spoiled,)))


@edit
def inclusion_path_changed(file: Document) -> None:
    file["proof"]["inclusion"][3][0] = "00" * 32


@edit
def inclusion_paths_left_out(file: Document) -> None:
    file["proof"]["inclusion"] = []


@edit
def printed_checkpoint_left_out(file: Document) -> None:
    file["proof"]["consistency"] = []


@edit
def consistency_path_changed(file: Document) -> None:
    file["proof"]["consistency"][0]["path"][0] = "00" * 32


@edit
def key_left_out(file: Document) -> None:
    del file["proof"]["journal"][1]


@edit
def key_put_in(file: Document) -> None:
    file["proof"]["journal"][1]["entry"]["body"]["key"] = str(FORGER.public)


@edit
def proof_removed(file: Document) -> None:
    file["proof"] = None


@edit
def hash_in_capitals(file: Document) -> None:
    path = file["proof"]["inclusion"][0]
    path[:] = [one.upper() for one in path]


@edit
def field_added_to_an_entry(file: Document) -> None:
    file["entries"][1]["remark"] = "all well"


@edit
def field_added_to_the_file(file: Document) -> None:
    file["remark"] = "all well"


@kind
def key_there_twice_in_an_entry(honest: Honest) -> bytes:
    return honest.data.replace(b'"pressure":"2.1"}', b'"pressure":"2.4","pressure":"2.1"}', 1)


@kind
def key_there_twice_in_the_file(honest: Honest) -> bytes:
    return honest.data.replace(b',"format":1,"proof"', b',"format":1,"format":1,"proof"')


@kind
def spelled_with_spaces(honest: Honest) -> bytes:
    return honest.data.replace(b'"pressure":', b'"pressure": ', 1)


@kind
def spelled_with_keys_in_another_order(honest: Honest) -> bytes:
    return honest.data.replace(b'"act":"clean","number":0', b'"number":0,"act":"clean"', 1)


@kind
def spelled_with_escaped_letters(honest: Honest) -> bytes:
    return honest.data.replace(b'"clean"', b'"c\\u006cean"', 1)


@kind
def spelled_with_a_fraction(honest: Honest) -> bytes:
    return honest.data.replace(b'"number":0', b'"number":0.0', 1)


@kind
def saved_again_with_line_breaks(honest: Honest) -> bytes:
    return honest.data.replace(b'},{"body"', b'},\n{"body"')


@kind
def cut_off_in_the_proof(honest: Honest) -> bytes:
    return honest.data[:-900]


@kind
def cut_off_in_an_entry(honest: Honest) -> bytes:
    return honest.data[: honest.data.index(b'"amendment"')]
