"""The line of a card that says what was mended: it is read as the keys of the bay would write it, or refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.audit.procedures import WHOLE

from witnessmark.errors import InputError
from witnessmark.host.card import card_mend
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import walk
from witnessmark.procedure.mending import BLED, NOTHING, REPLACED, TIGHTENED, circuits

PLAN = WHOLE.passes
POINTS = walk(WHOLE, PLAN)
CHECK = next(at for at, one in enumerate(POINTS) if one.step is not None and "leak-check" in one.step.affects)
NIPPLE, CIRCUIT = WHOLE.nipples[0], circuits(WHOLE)[0]
NOT_RIGHT = JobState("J1", WHOLE, None, "", "told", PLAN, POINTS, "", cursor=CHECK, not_right=(POINTS[CHECK].id,))


@pytest.mark.parametrize(
    ("line", "what", "words", "at", "safe"),
    [
        (f"tightened {NIPPLE.name}", TIGHTENED, "", (NIPPLE.id, ""), ""),
        (f"tightened and wiped dry, {NIPPLE.name.replace(' ', '-').upper()}", TIGHTENED, "", (NIPPLE.id, ""), ""),
        (f"tightened at {NIPPLE.id}, made safe", TIGHTENED, "", (NIPPLE.id, ""), "yes"),
        ("tightened none", TIGHTENED, "", ("", "none"), ""),
        (f"replaced circuit {CIRCUIT}, not made safe", REPLACED, "", ("", CIRCUIT), "no"),
        (f"replaced {CIRCUIT} circuit", REPLACED, "", ("", CIRCUIT), ""),
        ("replaced not known", REPLACED, "", ("", "not known"), ""),
        ("replaced", REPLACED, "", ("", "not known"), ""),
        ("bled again", BLED, "", None, ""),
        ("nothing was mended: the first look was wrong", NOTHING, "", None, ""),
        (f"a hose renewed, at {NIPPLE.name}", "", "a hose renewed", (NIPPLE.id, ""), ""),
        ("a clip at the frame bent at no circuit", "", "a clip at the frame bent", ("", "none"), ""),
        ("a hose at the frame renewed, made safe", "", "a hose at the frame renewed", ("", "not known"), "yes"),
    ],
)
def test_a_line_is_what_the_keys_of_the_bay_write(
    line: str, what: str, words: str, at: tuple[str, str] | None, safe: str
) -> None:
    first, *more = card_mend.bodies_of(NOT_RIGHT, line)
    assert (first.step, first.answer, first.mended) == ("mended", what, words)
    wanted = [("mended-at", *at)] if at else []
    wanted += [("was-made-safe", "", safe)] if safe else []
    assert [(one.step, one.nipple, one.answer) for one in more] == wanted


@pytest.mark.parametrize(
    ("line", "said", "hint"),
    [
        ("", "it does not say what was mended", "tightened, replaced, bled, nothing or your own words"),
        ("?", "it does not say what was mended", "leave the line out"),
        (f"tightened circuit {CIRCUIT}", "is no place where that is done", "none, not known"),
        ("replaced none", "is no place where that is done", f"circuit {CIRCUIT}"),
        (f"bled {NIPPLE.id}", "has no place on this line", "then again and the pass"),
        ("nothing, made safe", "'made safe' has no place on this line", "nothing alone"),
    ],
)
def test_what_is_no_mend_is_refused_with_what_may_be_written(line: str, said: str, hint: str) -> None:
    with pytest.raises(InputError, match=said) as refused:
        card_mend.bodies_of(NOT_RIGHT, line)
    assert hint in refused.value.hint


def test_it_is_read_only_behind_a_check_that_was_not_right() -> None:
    for state in (replace(NOT_RIGHT, not_right=()), replace(NOT_RIGHT, mended=NOT_RIGHT.not_right)):
        with pytest.raises(InputError):
            card_mend.bodies_of(state, "bled")


def test_a_place_that_is_not_written_is_doubted_once_and_named() -> None:
    assert "where: behind it write one of " in card_mend.doubt(NOT_RIGHT, "tightened")
    assert "behind it write at and one of " in card_mend.doubt(NOT_RIGHT, "a hose renewed")
    assert not card_mend.doubt(NOT_RIGHT, "bled") and not card_mend.doubt(NOT_RIGHT, "replaced not known")
