"""`witnessmark sheet`, `evidence` and `verify` as customer and lead use them: what a sheet pins is found out later."""

from __future__ import annotations

import html
import json
import re
from base64 import b64encode
from pathlib import Path

import pytest
from tests.cli.bay import VIN, Bay
from tests.report import qr_picture

from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal.bodies import Amount, Reading, to_body
from witnessmark.journal.entry import Draft


@pytest.fixture
def words(bay: Bay) -> Path:
    return bay.key()


@pytest.fixture
def job(bay: Bay, words: Path) -> str:
    return bay.open_job("--plate", "AB-12 X", "--customer", "Zoe Invented", "--vin", VIN)


def work(bay: Bay, job: str, value: str = "2.1") -> None:
    body = Reading(what="feed-pressure", amount=Amount(value, "bar"))
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, "person:t-otter", body=to_body(body)))


def printed(bay: Bay, job: str, words: Path, *more: object) -> str:
    path = bay.folder / "sheet.html"
    bay.fine("sheet", job, "-o", path, "--passphrase-file", words, *more)
    return path.read_text(encoding="utf-8")


def exported(bay: Bay, job: str, words: Path, *more: object) -> Path:
    path = bay.folder / f"{job}.evidence.json"
    bay.fine("evidence", job, "-o", path, "--passphrase-file", words, *more)
    return path


def note_of(sheet: str) -> str:
    return html.unescape(re.search(r"<pre[^>]*>(.*?)</pre>", sheet, re.DOTALL).group(1))  # type: ignore[union-attr]


def code_of(sheet: str) -> str:
    return re.search(r'<svg[^>]*class="qr".*?</svg>', sheet, re.DOTALL).group(0)  # type: ignore[union-attr]


def test_a_sheet_is_an_entry_and_prints_count_head_key_signature_and_code(bay: Bay, job: str, words: Path) -> None:
    work(bay, job)
    sheet = printed(bay, job, words)
    (entry,) = bay.entries(job, "sheet")
    note = note_of(sheet)
    assert note == entry.body["note"]
    said, parsed = checkpoints.parse_checkpoint(checkpoints.parse_note(note).text), checkpoints.parse_note(note)
    text = re.sub(r"\s+", "", re.sub(r"<[^>]*>", "", sheet))
    assert said.job is not None and said.job.count == 2 and said.job.job == job
    for part in (said.job.head, parsed.signatures[0].key_id.hex(), parsed.signatures[0].value.hex()):
        assert part in text
    assert "2entries,head" in text


def test_the_code_holds_the_note_and_nothing_of_the_customer(bay: Bay, job: str, words: Path) -> None:
    sheet = printed(bay, job, words)
    assert "AB-12 X" in sheet and "Zoe Invented" in sheet
    note = note_of(sheet)
    assert not any(word in note for word in ("AB-12", "Zoe", VIN, "otter"))
    from witnessmark.report.drawing.qr import qr

    assert qr_picture.modules(code_of(sheet)) == qr_picture.modules(str(qr(note)))
    assert qr_picture.read(code_of(sheet)) in (note, None)


def test_the_code_pasted_saved_or_typed_shows_that_nothing_was_changed(
    bay: Bay, job: str, words: Path, tmp_path: Path
) -> None:
    work(bay, job)
    note = note_of(printed(bay, job, words))
    work(bay, job, "2.2")
    evidence = exported(bay, job, words)
    saved = tmp_path / "qr.txt"
    saved.write_text(note, encoding="utf-8")
    windows = tmp_path / "qr-crlf.txt"
    windows.write_bytes(note.replace("\n", "\r\n").encode())
    pin = checkpoints.parse_checkpoint(checkpoints.parse_note(note).text).job
    assert pin is not None
    grouped = " ".join(pin.head[at : at + 8] for at in range(0, 64, 8))
    for given in (note, note.strip(), saved, windows, f"{pin.count} {pin.head}", f"{pin.count} {grouped.upper()}"):
        shown = bay.fine("verify", evidence, "--anchor", given)
        assert shown.startswith("INTACT"), given
        assert "after the anchor" in shown or "came after" in shown or "later" in shown, shown
    assert bay.fine("verify", evidence, "--anchor", f"{pin.count} {pin.head[:16]}").startswith("INTACT")


def test_a_journal_made_anew_does_not_give_what_the_sheet_says(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    work(bay, job, "0.9")
    note = note_of(printed(bay, job, words))
    pin = checkpoints.parse_checkpoint(checkpoints.parse_note(note).text).job
    assert pin is not None
    forged = Bay(tmp_path / "forged")
    forged.key()
    assert forged.open_job("--vin", VIN) == job
    work(forged, job, "2.1")
    evidence = exported(forged, job, forged.folder / "passphrase")
    assert forged.fine("verify", evidence).startswith("CONSISTENT, UNANCHORED")
    for given, verdict in ((note, "WRONG KEY"), (f"{pin.count} {pin.head}", "ALTERED")):
        result = forged.run("verify", evidence, "--anchor", given)
        assert result.exit_code == 1 and result.output.startswith(verdict)
        assert "only what somebody holds elsewhere shows this" in result.output


def test_the_key_as_it_was_posted_is_held_against_the_file(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    evidence = exported(bay, job, words)
    posted = bay.fine("key", "show").splitlines()[0]
    assert bay.fine("verify", evidence, "--key", posted).startswith("CONSISTENT")
    other = Bay(tmp_path / "other")
    other.key()
    result = bay.run("verify", evidence, "--key", other.fine("key", "show").splitlines()[0])
    assert result.exit_code == 1 and result.output.startswith("WRONG KEY")
    assert bay.run("verify", evidence, "--key", "nonsense").exit_code == 2


@pytest.mark.parametrize("given", ["", "nonsense", "17", "0 " + "a" * 64, "3 abc", "QR.TXT", "\u2014 bay x"])
def test_an_anchor_that_is_none_says_what_to_give(bay: Bay, job: str, words: Path, given: str) -> None:
    result = bay.run("verify", exported(bay, job, words), "--anchor", given)
    assert result.exit_code == 2 and "COUNT HEAD" in result.exception.hint  # type: ignore[union-attr]


def test_an_anchor_with_one_letter_wrong_is_said_to_be_so(bay: Bay, job: str, words: Path) -> None:
    note = note_of(printed(bay, job, words))
    evidence = exported(bay, job, words)
    lines = note.split("\n")
    lines[1] = str(int(lines[1]) + 1)
    result = bay.run("verify", evidence, "--anchor", "\n".join(lines))
    assert result.exit_code == 2 and "signature does not hold" in str(result.exception)


def test_a_checkpoint_held_elsewhere_is_led_from_when_asked(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    held = tmp_path / "held"
    held.write_text(bay.fine("checkpoint", "--passphrase-file", words), encoding="utf-8")
    plain = exported(bay, job, words)
    result = bay.run("verify", plain, "--anchor", held)
    assert (
        result.exit_code == 1
        and result.output.startswith("INCOMPLETE")
        and "export it for this anchor" in result.output
    )
    led = exported(bay, job, words, "--anchor", held)
    assert bay.fine("verify", led, "--anchor", held).startswith("INTACT")


def test_without_a_key_or_unsealed_nothing_is_signed_and_the_sheet_says_so(bay: Bay, tmp_path: Path) -> None:
    job = bay.open_job()
    path = tmp_path / "sheet.html"
    assert "not sealed" in bay.fine("sheet", job, "-o", path)
    assert "Not sealed" in path.read_text(encoding="utf-8") and 'class="qr"' not in path.read_text(encoding="utf-8")
    bay.key()
    size = len(bay.entries())
    bay.fine("sheet", job, "-o", path, "--unsealed")
    bay.fine("evidence", job, "-o", tmp_path / "e.json", "--unsealed")
    bay.fine("sheet", job, "--json")
    assert len(bay.entries()) == size and 'class="qr"' not in path.read_text(encoding="utf-8")


def test_the_passphrase_is_asked_and_a_wrong_one_signs_nothing(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    wrong = bay.run("sheet", job, "-o", path, typed="wrong\n")
    assert wrong.exit_code == 2 and "passphrase is wrong" in str(wrong.exception) and not path.exists()
    bay.fine("sheet", job, "-o", path, typed="long words\n")
    assert [one.kind for one in bay.entries(job)] == ["job-opened", "sheet"]


def test_a_sheet_made_of_a_file_alone_prints_what_the_file_has(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    photo = tmp_path / "gauge.jpg"
    photo.write_bytes(b"photo")
    bay.fine("attach", job, photo, "--shows", "feed gauge")
    evidence = exported(bay, job, words)
    elsewhere = Bay(tmp_path / "nowhere")
    path = tmp_path / "sheet.html"
    elsewhere.fine("sheet", evidence, "-o", path)
    sheet = path.read_text(encoding="utf-8")
    assert "AB-12 X" not in sheet and "not kept here" in sheet and "not looked at" in sheet
    assert note_of(sheet) == json.loads(evidence.read_bytes())["proof"]["checkpoint"]
    assert not elsewhere.folder.exists()


def test_a_sheet_shows_what_was_corrected_and_what_was_erased(bay: Bay, job: str, words: Path) -> None:
    work(bay, job, "21")
    seq = bay.entries(job, "reading")[0].seq
    bay.fine("amend", seq, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    bay.fine("erase", job, "--why", "asked")
    sheet = printed(bay, job, words)
    assert "21 bar" in sheet and "Corrected in entry" in sheet and "amount: 2.1 bar (erased; t-otter)" in sheet
    assert sheet.count(">erased<") == 2 and "Zoe" not in sheet


def test_a_changed_photo_stands_on_the_sheet(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    photo = tmp_path / "gauge.jpg"
    photo.write_bytes(b"photo")
    bay.fine("attach", job, photo, "--shows", "feed gauge")
    digest = bay.entries(job, "attachment")[0].body["sha256"]
    (bay.folder / "journal.db.files" / digest).write_bytes(b"another")
    assert "<b>CHANGED</b>" in printed(bay, job, words)


def test_a_photo_itself_stands_on_the_sheet_until_something_is_erased(
    bay: Bay, job: str, words: Path, tmp_path: Path
) -> None:
    photo = tmp_path / "gauge.png"
    photo.write_bytes(b"\x89PNG\r\n\x1a\n of the gauge")
    bay.fine("attach", job, photo, "--shows", "feed gauge")
    sheet = printed(bay, job, words)
    address = f"data:image/png;base64,{b64encode(photo.read_bytes()).decode()}"
    assert f'<img src="{address}" alt="feed gauge">' in sheet
    evidence = exported(bay, job, words)
    assert "lies with the shop&#39;s journal" in printed(bay, str(evidence), words)
    bay.fine("erase", job, "--why", "asked")
    sheet = printed(bay, job, words)
    assert "<img" not in sheet and "a picture may show it" in sheet


def test_verify_needs_neither_shop_nor_journal_nor_database(bay: Bay, job: str, words: Path, tmp_path: Path) -> None:
    evidence = exported(bay, job, words)
    note = note_of(printed(bay, job, words))
    script = (
        "import sys\nfrom witnessmark.cli.main import witnessmark\n"
        f"witnessmark.main(['verify', {str(evidence)!r}], standalone_mode=False)\n"
        "print(sorted(name for name in sys.modules if 'sqlite' in name or name in "
        "('witnessmark.journal.store', 'witnessmark.host.shop', 'socket', 'http.client')))\n"
    )
    nowhere = Bay(tmp_path / "nowhere")
    done = nowhere.python(script)
    assert done.stdout.splitlines()[0].startswith("CONSISTENT") and done.stdout.splitlines()[-1] == "[]", done
    later = exported(bay, job, words)
    done = nowhere.process("verify", later, "--anchor", note)
    assert done.returncode == 0 and done.stdout.startswith("INTACT") and not nowhere.folder.exists()


def test_a_file_that_is_none_is_an_error_of_one_line(bay: Bay, tmp_path: Path) -> None:
    for data in (b"", b"{}", b"\x00\xff" * 50, b'{"entries":[],"format":9,"proof":null}'):
        path = tmp_path / "x.json"
        path.write_bytes(data)
        done = bay.process("verify", path)
        assert done.returncode in (1, 2) and "Traceback" not in done.stderr + done.stdout
    done = bay.process("verify", tmp_path / "none.json")
    assert done.returncode == 2 and "none.json: cannot be read" in done.stderr


def test_the_command_says_how_large_the_sheet_is_and_what_it_holds_and_leaves_out(
    bay: Bay, job: str, tmp_path: Path
) -> None:
    path = tmp_path / "sheet.html"
    assert f"\n{-(-len_of(bay, job, path) // 1000)} kB\n" in bay.fine("sheet", job, "--unsealed", "-o", path)
    for name, data in (("gauge.png", b"\x89PNG\r\n\x1a\n" + bytes(900_000)), ("readings.csv", b"1,2")):
        (tmp_path / name).write_bytes(data)
        bay.fine("attach", job, tmp_path / name, "--shows", name)
    told = bay.fine("sheet", job, "--unsealed", "-o", path)
    size = path.stat().st_size
    assert (
        f"\n{-(-size // 100_000) / 10:.1f} MB, 1 photo in it as entered; 1 file not shown in it: it says why\n" in told
    )
    assert size > 1_200_000, "every byte of the photo is in it"


def len_of(bay: Bay, job: str, path: Path) -> int:
    bay.fine("sheet", job, "--unsealed", "-o", path)
    return path.stat().st_size
