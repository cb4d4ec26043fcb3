"""A procedure file is read whole or every mistake in it is named with its line."""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path

import pytest
import rfc8785

from witnessmark.document.mistake import Mistakes
from witnessmark.errors import InputError
from witnessmark.procedure import load
from witnessmark.procedure.repeated import KEYS, repeated

TRUCK = (Path(__file__).parent / "truck.toml").read_text(encoding="utf-8")


def mistakes_of(text: str) -> list[tuple[int, str, str]]:
    with pytest.raises(Mistakes) as caught:
        load.from_text(text, file="truck.toml")
    return [(line, one.what, one.hint) for line, one in caught.value.mistakes]


def line_with(at: str, text: str) -> int:
    """Return the number of the first line that begins with `at` (the last, after LAST); 0 for none."""
    if not at:
        return 0
    begin = ("\n" + text).rindex("\n" + at[5:]) if at.startswith("LAST ") else ("\n" + text).index("\n" + at)
    return text.count("\n", 0, begin) + 1


def test_a_good_file_is_read() -> None:
    procedure = load.from_text(TRUCK)
    assert [one.id for one in procedure.passes] == ["p1", "p2"]
    assert procedure.passes[1].volume is not None
    assert procedure.nipples[0].torque is not None and procedure.nipples[0].torque.low == "8 N.m"


def test_the_plain_form_reads_back_and_gives_the_same_digest() -> None:
    procedure = load.from_text(TRUCK)
    document = load.to_document(procedure)
    assert load.from_document(document) == procedure
    assert load.digest(load.from_document(document)) == load.digest(procedure)


def test_the_plain_form_is_read_at_once_in_the_order_that_a_journal_keeps_it_in(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    procedure = load.from_text(TRUCK)
    kept = json.loads(rfc8785.dumps(load.to_document(procedure)))
    monkeypatch.setattr(load, "fit", lambda *given: pytest.fail("each field was looked at by itself"))
    assert load.from_document(kept) == procedure


def test_the_digest_is_over_rfc_8785_text() -> None:
    """Source: the rfc8785 library."""
    procedure = load.from_text(TRUCK)
    assert load.digest(procedure) == sha256(rfc8785.dumps(load.to_document(procedure))).hexdigest()


def test_comments_and_layout_do_not_change_the_digest_and_a_number_does() -> None:
    same = load.from_text("# another remark\n\n" + TRUCK)
    other = load.from_text(TRUCK.replace('"20 s"', '"21 s"'))
    assert load.digest(same) == load.digest(load.from_text(TRUCK))
    assert load.digest(other) != load.digest(load.from_text(TRUCK))


ASKED = 'questions = [{ id = "q", text = "Is it?", holds = "2 h", said_by = "nowhere" }]'
"""A question that a step says which is not there."""


@pytest.mark.parametrize(
    ("old", "new", "at", "what", "hint"),
    [
        ("armed_for =", "armed_four =", "armed_four", "'armed_four' is not known", "did you mean armed_for?"),
        ('seconds = "20 s"', "seconds = 20", "seconds = ", "20 does not fit", '"20 s"'),
        ('seconds = "20 s"\n', "", "[[passes]]", "this is not given", "how long it runs"),
        ('seconds = "20 s"', 'seconds = "20 bar"', "seconds = ", "bar is no unit of time", "use one of: s"),
        ('seconds = "20 s"', 'seconds = "0 s"', "seconds = ", "0 s makes no sense", "how long"),
        ('seconds = "20 s"', 'seconds = "soon"', "seconds = ", "'soon' is not a number", '"20 s"'),
        ('overlap = "90 %"', 'overlap = "190 %"', "overlap", "190 % makes no sense", "share"),
        ('order = "before"', 'order = "befor"', "order =", "'befor' does not fit", "'after', 'before', 'with'"),
        ('order_tolerance = "10 s"\n', "", "[[passes]]", "this is not given", "how far from the start"),
        ('nipples = ["rr"]', 'nipples = ["rx"]', 'nipples = ["rx"', "nipple 'rx' is not known", "rl, rr"),
        ('id = "p2"', 'id = "p1"', 'LAST id = "p1"', "pass 'p1' is there twice", "of its own"),
        ('id = "pressure"', 'id = "feed"', 'LAST id = "feed"', "step 'feed' is there twice", "of its own"),
        (
            '{ id = "rr"',
            '{ id = "rl", name = "again", circuit = "one" }, { id = "rr"',
            "nipples = [\n",
            "nipple 'rl' is",
            "of its",
        ),
        ('"60 s"\nphysical', '"2 min"\nphysical', "armed_for", "2 min is outside 30 to 90 s", "60 s"),
        ('armed_for = "60 s"\n', "", "", "must be within 30 to 90 s", "60 s"),
        ('physical_fallback = "close the nipple, switch the vehicle off"\n', "", "", "no physical fallback", "by hand"),
        ('limit = { low = "1.8 bar"', 'limit = { low = "2.8 bar"', "limit =", "low 2.8 bar is above", "exchange"),
        ('limit = { low = "1.8 bar"', 'limit = { low = "40 psi"', "limit =", "low 40 psi is above", "exchange"),
        (
            'affects = "feed-on"',
            'affects = "feed-in"',
            'affects = "feed-in',
            "'feed-in' is not known",
            "did you mean feed-on?",
        ),
        ('what = "feed-pressure"\n', "", "[[steps_before_each", "a reading has no name", "feed-pressure"),
        ('unit = "bar"', 'unit = "L"', "unit =", "L is no unit of pressure", "bar"),
        ('unit = "bar"', 'unit = "Bar"', "unit =", "unit 'Bar' is not known", "did you mean bar?"),
        ('low = "100 mL"', 'low = "100 s"', "LAST low =", "s is no unit of volume", "mL"),
        ("invented = true", f"invented = true\n{ASKED}", "questions", "'nowhere' is no step before", "feed"),
        (
            'pressure_age = "60 s"\n',
            'pressure_age = "60 s"\nbottle_with = "p9"\n',
            "bottle_with",
            "not the next pass",
            "next",
        ),
        ("title =", "titel =", "titel", "'titel' is not known", "did you mean title?"),
        ('title = "Full bleed with a pressure feed"\n', "", "", "this key is missing", "text in quotes"),
        ('pressure_age = "60 s"\n', "", "[[passes]]", "a pressure is asked for", "how old"),
        ("invented = true", 'invented = "yes"', "invented =", "'yes' does not fit", "true or false"),
        ("witnessmark-procedure/1", "witnessmark-procedure/9", "format", "does not fit", "witnessmark-procedure/1"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_what_was_expected(
    old: str, new: str, at: str, what: str, hint: str
) -> None:
    assert old in TRUCK
    text = TRUCK.replace(old, new, 1)
    found = mistakes_of(text)
    assert [one[0] for one in found] == [line_with(at, text)]
    assert what in found[0][1]
    assert hint in found[0][2]


def test_a_bottle_is_read_with_the_next_pass_only_at_the_same_circuit() -> None:
    together = TRUCK.replace('pressure_age = "60 s"\n', 'pressure_age = "60 s"\nbottle_with = "p2"\n', 1)
    assert load.from_text(together).passes[0].bottle_with == "p2"
    apart = together.replace('name = "rear right", circuit = "one"', 'name = "rear right", circuit = "two"', 1)
    ((line, what, _),) = mistakes_of(apart)
    assert (line, what) == (line_with("bottle_with", apart), "the next pass is at another hydraulic circuit")


def test_all_mistakes_are_listed_in_the_order_of_the_file() -> None:
    text = TRUCK.replace("invented = true", "inventd = true").replace('"rr"]', '"xx"]').replace('"100 mL"', "100")
    found = mistakes_of(text)
    assert [line for line, _, _ in found] == [line_with(at, text) for at in ("inventd", 'nipples = ["xx', "low =")]


def test_the_message_names_file_line_and_key() -> None:
    with pytest.raises(InputError) as caught:
        load.from_text(TRUCK.replace('seconds = "20 s"', "seconds = 20"), file="truck.toml")
    assert str(caught.value).startswith("truck.toml line 43, passes[0].seconds: ")


def test_text_that_is_not_toml_is_refused_with_its_line() -> None:
    with pytest.raises(InputError) as caught:
        load.from_text(TRUCK.replace('id = "truck-rear"', "id = truck"), file="truck.toml")
    assert caught.value.place == "truck.toml line 3"


def test_a_file_that_is_missing_or_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        load.load(tmp_path / "none.toml")
    (tmp_path / "b.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="UTF-8"):
        load.load(tmp_path / "b.toml")


def steps_that_repeat(count: int) -> str:
    return TRUCK + "".join(f'\n[[steps_after]]\nid = "r{n}"\ntext = "Again"\nmay_repeat = true\n' for n in range(count))


@pytest.mark.parametrize("text", ["", 'format = "of-another-kind/1"', '["torque wrench"]\nuntil = "2027-03-31"'])
def test_a_file_of_another_kind_is_one_mistake_and_not_one_for_each_key_that_it_lacks(text: str) -> None:
    with pytest.raises(InputError) as caught:
        load.from_text(text, file="other.toml")
    assert not isinstance(caught.value, Mistakes)
    assert (caught.value.place, caught.value.what) == ("other.toml", "this is no procedure")
    assert "procedure new FILE" in caught.value.hint


def test_a_mark_of_the_byte_order_before_the_first_line_is_no_mistake() -> None:
    assert load.from_text("\ufeff" + TRUCK) == load.from_text(TRUCK)


def test_one_that_only_lacks_its_format_is_a_procedure_with_that_mistake() -> None:
    (mistake,) = mistakes_of(TRUCK.replace('format = "witnessmark-procedure/1"\n', ""))
    assert "missing" in mistake[1]


def test_each_step_that_may_be_done_again_needs_a_key() -> None:
    assert [step.id for step in repeated(load.from_text(steps_that_repeat(len(KEYS))))] == [f"r{n}" for n in range(6)]
    ((line, what, hint),) = mistakes_of(steps_that_repeat(len(KEYS) + 1))
    assert (line, what, hint) == (
        steps_that_repeat(7).count("\n"), "too many steps may be done again", "at most 6: one key each",
    )  # fmt: skip


def test_a_touch_that_closes_a_nipple_is_not_done_again_by_itself() -> None:
    step = '\n[[steps_after_each_pass]]\nid = "shut"\ntext = "Shut"\nmay_repeat = true\nalso = ["closed"]\n'
    ((_, what, _),) = mistakes_of(TRUCK + step)
    assert what == "a touch that closes a nipple belongs to its pass"


@pytest.mark.parametrize(
    ("step", "text"),
    [
        ('takes_at_least = "a while"', "'a while' is not a number"),
        ('takes_at_least = "2 bar"', "bar is no unit of time"),
        ('takes_at_least = "0 s"', "0 s is not more than nothing"),
        ('act = "scan"\ntakes_at_least = "1 min"', "nobody does this by hand"),
    ],
)
def test_the_least_time_of_a_step_is_a_time_of_something_done_by_hand(step: str, text: str) -> None:
    ((_, what, _),) = mistakes_of(TRUCK + f'\n[[steps_after]]\nid = "held"\ntext = "Hold it"\n{step}\n')
    assert text in what


@pytest.mark.parametrize("place", [0, 1])
def test_one_of_several_blocks_with_single_brackets_is_named_by_its_line(place: int) -> None:
    parts = TRUCK.split("[[steps_before]]")
    heads = ["[[steps_before]]", "[[steps_before]]"]
    heads[place] = "[steps_before]"
    with pytest.raises(InputError) as caught:
        load.from_text(parts[0] + heads[0] + parts[1] + heads[1] + parts[2], file="truck.toml")
    line = sum(one.count("\n") for one in parts[: place + 1]) + 1
    assert caught.value.place == f"truck.toml line {line}" and caught.value.hint == "write each as [[steps_before]]"


def test_a_block_that_stands_alone_in_single_brackets_says_how_it_is_written() -> None:
    found = mistakes_of(TRUCK.replace("[[steps_before_each_pass]]", "[steps_before_each_pass]"))
    assert [line for line, _, hint in found if "two brackets" in hint] == [31]
