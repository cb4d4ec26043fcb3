"""Quantities keep their text and compare through pint."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.quantity import SIGNS, UNITS, Quantity, compare, convert, parse, plain, printed


def test_one_psi_is_6894_757_pascal() -> None:
    """NIST SP 811 (2008), appendix B.8: psi to Pa 6.894 757 E+03."""
    assert convert(Quantity("1", "psi"), "kPa") == pytest.approx(6.894757, abs=5e-7)


def test_one_bar_is_a_hundred_kilopascal() -> None:
    """NIST SP 811 (2008), appendix B.8: bar to Pa 1.0 E+05."""
    assert convert(Quantity("1", "bar"), "kPa") == pytest.approx(100)


def test_thirty_psi_is_about_two_bar() -> None:
    """Common practice, no source."""
    assert convert(Quantity("30", "psi"), "bar") == pytest.approx(2.0, abs=0.1)


def test_twelve_to_fifteen_psi_is_83_to_103_kilopascal() -> None:
    """By the factor of NIST SP 811; a printed bulletin that gives 103-138 kPa for it is wrong."""
    assert [round(convert(Quantity(v, "psi"), "kPa")) for v in ("12", "15")] == [83, 103]


def test_a_pound_force_foot_is_1_355_818_newton_metre() -> None:
    """NIST SP 811 (2008), appendix B.8: lbf.ft to N.m 1.355 818 E+00."""
    assert convert(Quantity("1", "lbf.ft"), "N.m") == pytest.approx(1.355818, abs=5e-7)


def test_a_pound_force_inch_is_0_112_984_8_newton_metre() -> None:
    """NIST SP 811 (2008), appendix B.8: lbf.in to N.m 1.129 848 E-01."""
    assert convert(Quantity("1", "lbf.in"), "N.m") == pytest.approx(0.1129848, abs=5e-8)


def test_an_inch_of_mercury_is_3_386_389_kilopascal_and_a_foot_0_304_8_metre() -> None:
    """NIST SP 811 (2008), appendix B.8: conventional inHg to Pa 3.386 389 E+03, ft to m 3.048 E-01."""
    assert convert(Quantity("1", "inHg"), "kPa") == pytest.approx(3.386389, abs=5e-7)
    assert convert(Quantity("1", "ft"), "m") == pytest.approx(0.3048)


@pytest.mark.parametrize(
    ("typed", "unit"), [("Nm", "N.m"), ("ft-lb", "lbf.ft"), ("in lbf", "lbf.in"), ("cc", "mL"), ("BAR", "bar")]
)
def test_the_unit_that_somebody_means_is_named(typed: str, unit: str) -> None:
    with pytest.raises(InputError) as refused:
        parse(f"8 {typed}", place="torque")
    assert refused.value.hint is not None and refused.value.hint.startswith(f"did you mean {unit}? Else use one of:")


def test_temperatures_convert_with_their_offset() -> None:
    """49 CFR 571.116 prints 230 C as 446 F and 155 C as 311 F."""
    assert convert(Quantity("446", "degF"), "degC") == pytest.approx(230)
    assert convert(Quantity("155", "degC"), "degF") == pytest.approx(311)


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_every_unit_is_known_to_pint(unit: str) -> None:
    import pint

    registry = pint.UnitRegistry()
    assert registry.parse_units(UNITS[unit]) == registry.Unit(UNITS[unit])
    assert convert(Quantity("3", unit), unit) == 3.0


def test_the_text_stays_as_it_was_entered() -> None:
    quantity = parse("2,10 bar", place="feed")
    assert quantity == Quantity("2.10", "bar") and str(quantity) == "2.10 bar"
    assert parse("0.50", place="feed", unit="V") == Quantity("0.50", "V")


@pytest.mark.parametrize("text", ["", "abc bar", "nan bar", "inf bar", "1e999999 bar", "9 parsec", "2 furlong", "2"])
def test_what_is_no_quantity_is_refused_with_its_place(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, place="line 3, pressure")
    assert str(caught.value).startswith("line 3, pressure: ") and caught.value.hint


def test_comparison_converts() -> None:
    assert compare(Quantity("30", "psi"), Quantity("2", "bar")) == 1
    assert compare(Quantity("200", "kPa"), Quantity("2", "bar")) == 0
    assert compare(Quantity("1.99", "bar"), Quantity("200", "kPa")) == -1
    with pytest.raises(InputError, match="cannot be read in"):
        compare(Quantity("2", "bar"), Quantity("2", "mL"))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (-9.99995e7, "-99999500"), (123456789.0, "123456789"), (1e22, "10000000000000000000000"), (999999.5, "1000000"),
        (1e-7, "0.0000001"), (0.1 + 0.2, "0.3"), (-0.0, "0"), (150.0, "150"), (12.3456789, "12.3457"),
    ],
)  # fmt: skip
def test_a_computed_number_is_never_printed_with_an_exponent(value: float, text: str) -> None:
    assert plain(value) == text


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_no_number_at_all_has_an_exponent(value: float) -> None:
    text = plain(value)
    assert "e" not in text.lower()
    assert float(text) == pytest.approx(value, rel=1e-5)


def test_an_exponent_is_not_taken_and_one_from_an_old_record_is_written_out() -> None:
    with pytest.raises(InputError, match="1e9 mL"):
        parse("1e9 mL", place="volume")
    assert str(Quantity("1E+9", "mL")) == "1000000000 mL"


@pytest.mark.parametrize(
    ("entered", "shown"),
    [
        ("98 degC", "98 \u00b0C"),
        (
            "boiling point 98 degC; torque 9.1 N.m, asked 8 N.m.",
            "boiling point 98 \u00b0C; torque 9.1 N\u00b7m, asked 8 N\u00b7m.",
        ),
        ("lbf.ft", "lbf\u00b7ft"),
        ("2.1 bar", "2.1 bar"),
        ("photo N.m.jpg, 7N.mm, IN.m, undegC", "photo N.m.jpg, 7N.mm, IN.m, undegC"),
    ],
)
def test_a_unit_is_shown_with_its_sign_and_nothing_else_is_changed(entered: str, shown: str) -> None:
    assert printed(entered) == shown


@pytest.mark.parametrize(("unit", "sign"), SIGNS.items())
def test_a_unit_typed_with_its_sign_is_the_same_unit(unit: str, sign: str) -> None:
    assert parse(f"98 {sign}", place="reading") == Quantity("98", unit)


@pytest.mark.parametrize(("unit", "sign"), SIGNS.items())
def test_a_sign_means_to_pint_what_its_unit_means(unit: str, sign: str) -> None:
    """Oracle: pint reads the sign itself."""
    import pint

    registry = pint.UnitRegistry()
    assert registry.Unit(sign.replace("\u00b7", "*")) == registry.Unit(UNITS[unit])


def test_a_number_longer_than_any_gauge_shows_is_refused_with_what_to_do() -> None:
    with pytest.raises(InputError, match="a number of 198 digits") as raised:
        parse("1" * 198, place="volume", unit="mL")
    assert "at most 20 digits" in raised.value.hint
    assert parse("1" * 20, place="volume", unit="mL").value == "1" * 20
