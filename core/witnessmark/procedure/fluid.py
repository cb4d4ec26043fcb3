"""Brake fluids: grades, classes, what mixes, and the boiling points a grade must have.

Words off a container flow in, a known grade or class flows out. Sources: boiling points of the grades from 49 CFR
571.116 (FMVSS 116), read in a secondary page that quotes it; those of the classes of ISO 4925:2020 from memory. Grades
3, 4 and 5.1 mix, the blend ranks as its weakest (secondary page); silicone (5) and mineral fluid never mix with them
(abstract of ISO 9128: "totally incompatible"). A grade is not a class: `DOT 4` is not `class 4`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Base = Literal["glycol", "silicone", "mineral"]


@dataclass(frozen=True, slots=True)
class Fluid:
    """A grade or class. Boiling points in whole degrees Celsius: new, and with the standard's water in it."""

    name: str
    base: Base
    dry_c: int | None
    wet_c: int | None


GRADES: dict[str, Fluid] = {
    "DOT 3": Fluid("DOT 3", "glycol", 205, 140),
    "DOT 4": Fluid("DOT 4", "glycol", 230, 155),
    "DOT 5": Fluid("DOT 5", "silicone", 260, 180),
    "DOT 5.1": Fluid("DOT 5.1", "glycol", 260, 180),
    "mineral": Fluid("mineral", "mineral", None, None),
}
CLASSES: dict[str, Fluid] = {
    "class 3": Fluid("class 3", "glycol", 205, 140),
    "class 4": Fluid("class 4", "glycol", 230, 155),
    "class 5-1": Fluid("class 5-1", "glycol", 260, 180),
    "class 6": Fluid("class 6", "glycol", 250, 165),
    "class 7": Fluid("class 7", "glycol", 260, 180),
}

_COMMA = re.compile(r"(?<=\d),(?=\d)")
_GRADE = re.compile(r"(?:dot[\s-]*|(?<=\d)\s*[/&+]\s*)(\d+(?:\s*\.\d+|-\d+)?)")
_DENIED = re.compile(r"\b(?:non|not|no)[\s-]*(?:for\s+)?(silicone|mineral)")
_NUMBER = re.compile(r"^(\d+(?:[-.]\d+)?)$")
_CLASS = re.compile(r"class\s*(\d+(?:[-.]\d+)?)")
_CLASS_ALSO = re.compile(r"class\s*\d[\d.-]*\s*[/&+]\s*(\d+(?:[-.]\d+)?)")


def grade(words: str) -> Fluid | None:
    """Return the grade that `words` name (`DOT 4`, `dot5.1`, `mineral oil`), None when they name none, or several.

    The base that a label names besides must be that of the grade: `DOT 5.1 non-silicone base` is DOT 5.1.
    """
    text = _COMMA.sub(".", words.lower())
    names = _GRADE.findall(text)
    found = {"DOT " + "".join(name.split()).replace("-", ".") for name in names}
    denied = _DENIED.findall(text)
    found |= {"mineral"} if "mineral" in text and "mineral" not in denied else set()
    one = GRADES.get(found.pop()) if len(found) == 1 else None
    silicone = "silicone" in text and "silicone" not in denied
    if one is None or (silicone and one.base != "silicone") or ("silicone" in denied and one.base == "silicone"):
        return None
    return one


def fluid_class(words: str) -> Fluid | None:
    """Return the class of ISO 4925 that `words` name (`class 6`, `6`, `Class 5-1`), None for none, or several."""
    text = words.strip().lower()
    found = _CLASS.findall(text) or _NUMBER.findall(text)
    also = _CLASS_ALSO.findall(text)
    names = {name.replace(".", "-") for name in (*found, *also)}
    return CLASSES.get(f"class {names.pop()}") if len(names) == 1 else None


def mixes(one: Fluid, other: Fluid) -> bool:
    """Say whether two fluids may come together at all."""
    return one.base == other.base


def named(words: str) -> Fluid | None:
    """Return the grade that `words` name, else the class; None when they name neither (`not known`)."""
    return grade(words) or fluid_class(words)


def weaker(one: Fluid, other: Fluid) -> Fluid:
    """Return as which of two fluids that mix their blend ranks."""
    return min(one, other, key=lambda fluid: fluid.wet_c or 0)


def mixing(asked: str, asked_class: str, said: Sequence[str]) -> list[str]:
    """Say in words what comes of it where what was read off a container is not what is asked; nothing where it is."""
    found = []
    for wanted, read in ((grade(asked), grade), (fluid_class(asked_class), fluid_class)):
        for words in said:
            other = read(words)
            if wanted is None or other is None or other == wanted:
                continue
            if not mixes(other, wanted):
                found.append(f"{other.name} and {wanted.name} never mix: what went in has to come out again")
            else:
                ranks = weaker(other, wanted).name
                found.append(f"{other.name} and {wanted.name} mix; the blend ranks as the weaker, {ranks}")
    return list(dict.fromkeys(found))
