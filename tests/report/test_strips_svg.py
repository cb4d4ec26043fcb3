"""Small charts of readings: one for each thing read three times or more, its band behind, what is outside crossed."""

from __future__ import annotations

from typing import Any

from witnessmark.report.drawing.strips_svg import strips


def drawn(*amounts: str, asked: str = "7 N.m to 9 N.m") -> list[dict[str, Any]]:
    each = {"what": "wheel-torque", "asked": asked, "taken_back": False}
    read = [each | {"amount": one, "pass": f"p{n}"} for n, one in enumerate(amounts)]
    return strips({"timeline": {"readings": read}})


def test_three_readings_make_a_strip_and_two_do_not() -> None:
    (strip,) = drawn("8 N.m", "7.5 N.m", "8.5 N.m")
    assert (strip["what"], strip["unit"]) == ("wheel torque", "N.m")
    assert strip["drawing"].count('class="point"') == 3 and strip["drawing"].count('class="band"') == 3
    assert "most 8.5" in strip["drawing"] and "least 7.5" in strip["drawing"]
    assert drawn("8 N.m", "8 N.m") == []


def test_a_reading_outside_its_band_is_crossed_not_only_coloured() -> None:
    assert drawn("8 N.m", "9 N.m", "7 N.m")[0]["drawing"].count('class="cross"') == 0
    assert drawn("8 N.m", "9.1 N.m", "6 N.m")[0]["drawing"].count('class="cross"') == 2


def test_a_band_may_have_one_end_or_none() -> None:
    assert drawn("1 d", "2 d", "40 d", asked="at most 30 d")[0]["drawing"].count('class="cross"') == 1
    assert drawn("1 d", "2 d", "40 d", asked="at least 2 d")[0]["drawing"].count('class="cross"') == 1
    assert "band" not in drawn("5 mL", "5 mL", "5 mL", asked="")[0]["drawing"]


def test_units_are_never_mixed_in_one_strip() -> None:
    assert [one["unit"] for one in drawn("8 N.m", "8 N.m", "8 N.m", "70 lbf.in")] == ["N.m"]


def test_words_are_escaped() -> None:
    read = {"what": "x", "amount": "1 <b>", "asked": "", "pass": "<i>"}
    (strip,) = strips({"timeline": {"readings": [{**read, "taken_back": False} for _ in range(3)]}})
    assert "<i>" not in strip["drawing"]
