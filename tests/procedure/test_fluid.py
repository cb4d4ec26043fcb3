"""Grades and classes of brake fluid, against the figures and the sources that the standards page gives."""

from __future__ import annotations

import pytest

from witnessmark.procedure.fluid import CLASSES, GRADES, fluid_class, grade, mixes


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("DOT 4", "DOT 4"),
        ("dot4", "DOT 4"),
        ("DOT-5.1", "DOT 5.1"),
        ("DOT 5", "DOT 5"),
        ("DOT 3, 1 L", "DOT 3"),
        ("DOT 4, class 6", "DOT 4"),
        ("mineral oil", "mineral"),
        ("DOT 45", None),
        ("DOT5,1", "DOT 5.1"),
        ("DOT 5-1", "DOT 5.1"),
        ("DOT 5 .1", "DOT 5.1"),
        ("DOT 5 silicone base", "DOT 5"),
        ("DOT 5.1 NON-SILICONE BASE", "DOT 5.1"),
        ("DOT 5.1 silicone base", None),
        ("DOT 5, not silicone", None),
        ("DOT 4 silicone", None),
        ("DOT 3/DOT 4", None),
        ("DOT 3/4", None),
        ("DOT 4, not for mineral oil systems", "DOT 4"),
        ("DOT 4 mineral oil", None),
        ("class 4", None),
        ("", None),
    ],
)
def test_words_off_a_container_name_a_grade(words: str, name: str | None) -> None:
    found = grade(words)
    assert (found.name if found else None) == name


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("class 6", "class 6"),
        ("6", "class 6"),
        ("Class 5-1", "class 5-1"),
        ("ISO 4925 class 4", "class 4"),
        ("DOT 4, class 6", "class 6"),
        ("DOT 4", None),
        ("class 9", None),
        ("class 6, class 4", None),
        ("class 4/6", None),
        ("class 51", None),
    ],
)
def test_words_off_a_container_name_a_class(words: str, name: str | None) -> None:
    found = fluid_class(words)
    assert (found.name if found else None) == name


@pytest.mark.parametrize(
    ("name", "dry_f", "wet_f"), [("DOT 3", 401, 284), ("DOT 4", 446, 311), ("DOT 5", 500, 356), ("DOT 5.1", 500, 356)]
)
def test_the_grades_have_the_boiling_points_of_49_cfr_571_116(name: str, dry_f: int, wet_f: int) -> None:
    """The rule gives them in degrees Fahrenheit as well (secondary page); NIST SP 811: F = 1.8 C + 32."""
    fluid = GRADES[name]
    assert fluid.dry_c is not None and fluid.wet_c is not None
    assert (round(fluid.dry_c * 1.8 + 32), round(fluid.wet_c * 1.8 + 32)) == (dry_f, wet_f)


def test_the_classes_have_the_boiling_points_of_iso_4925() -> None:
    """ISO 4925:2020, from memory."""
    points = {name: (one.dry_c, one.wet_c) for name, one in CLASSES.items()}
    assert points == {
        "class 3": (205, 140),
        "class 4": (230, 155),
        "class 5-1": (260, 180),
        "class 6": (250, 165),
        "class 7": (260, 180),
    }


def test_silicone_and_mineral_never_mix_with_glycol() -> None:
    """Abstract of ISO 9128 ("totally incompatible"); that 3, 4 and 5.1 mix is from a secondary page."""
    assert all(
        mixes(GRADES[a], GRADES[b]) for a in ("DOT 3", "DOT 4", "DOT 5.1") for b in ("DOT 3", "DOT 4", "DOT 5.1")
    )
    assert not any(mixes(GRADES[a], GRADES[b]) for a in ("DOT 5", "mineral") for b in ("DOT 3", "DOT 4", "DOT 5.1"))
    assert not mixes(GRADES["DOT 5"], GRADES["mineral"])
